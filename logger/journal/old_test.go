package journal

import "crownlog/logger/record"

// appendOld adds the line of a journal that has no chain, as they were before
// there was one.
func appendOld(dst []byte, c record.Capture) []byte {
	from := len(dst)
	return sealLine(appendCells(dst, c, oldCells), from)
}
