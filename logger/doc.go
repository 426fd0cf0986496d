// Package logger runs rounds and keeps their record. Gauge events go in;
// captures, a view to draw and plain events come out; the captures land in a
// job folder that survives a pulled plug and opens in a spreadsheet.
//
//	job.toml         the job sheet; never rewritten
//	captures.csv     the journal: one line a capture, only ever added to
//	captures.csv.torn  last lines torn by a power loss, set aside
//	captures.csv.damaged-1  a damaged journal as it was, set aside on request
//	readings/        raw readings of each round, <stage>-<feature>-<n>.csv
//	attachments/     photos and other files, with their SHA-256 in the journal
//	record.csv       the vehicle's-file export; derived, replaced as a whole
//	.lock            held by the one program that may write
//
// What a crash may do. Append returns after the line is synced: a capture that
// was announced is there after any crash, whole and once. A crash during
// Append leaves the line, a piece of it, or nothing; a piece is set aside when
// the folder is opened for writing and left out by readers. Raw readings are
// written at once and synced every 100 ms, so a power loss can take the last
// tenth of a second of them. Derived files are replaced by renaming: a reader
// finds the old one or the new one.
//
// What is noticed. Each line of captures.csv and of a readings file ends with
// the CRC-32 of its cells, and captures are numbered without a gap. A changed
// byte, a missing, doubled or moved line is a *DamageError with its line, and
// nothing of the file is used. Whole lines missing from the end cannot be
// noticed, but a file without its header can. SetAside, and nothing by itself,
// goes on with the sound lines: a line of quality "lost" stands in for each
// that is gone, and for one that may have been an adjuster move is a move.
//
// Corrections. A line is never changed. A new measurement of a position names
// the one it supersedes; an undo is a line of quality "rejected" that
// supersedes the capture undone and brings back what that one had superseded.
// record.Active applies both.
package logger
