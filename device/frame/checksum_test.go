package frame

import (
	"encoding/csv"
	"encoding/hex"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// readTable returns the rows of a reference file after its header.
func readTable(t *testing.T, path string) [][]string {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(rows), 1)
	return rows[1:]
}

// Check values of "123456789": the public CRC catalogue, and the Modbus
// serial line guide for LRC (testdata/crc.csv).
func TestChecksumsAgainstCatalogue(t *testing.T) {
	rowOf := map[string]string{
		"crc16-modbus": "CRC-16/MODBUS", "crc16-ccitt": "CRC-16/IBM-3740", "crc16-xmodem": "CRC-16/XMODEM",
		"crc16-kermit": "CRC-16/KERMIT", "crc16-arc": "CRC-16/ARC", "crc16-aug": "CRC-16/SPI-FUJITSU",
		"crc16-genibus": "CRC-16/GENIBUS", "crc8": "CRC-8/SMBUS",
		"lrc": "LRC (Modbus ASCII", "sum8": "8-bit sum", "xor8": "XOR of all bytes",
	}
	require.Len(t, rowOf, len(checksums), "every checksum has a published check value")
	rows := readTable(t, "testdata/crc.csv")
	for name, row := range rowOf {
		t.Run(name, func(t *testing.T) {
			found := false
			for _, r := range rows {
				if !strings.HasPrefix(r[0], row) {
					continue
				}
				found = true
				want, err := strconv.ParseUint(r[8], 0, 16)
				require.NoError(t, err)
				assert.Equal(t, uint16(want), checksums[name].Of([]byte("123456789")))
			}
			assert.True(t, found, "no row %q", row)
		})
	}
}

// Frames of the Modbus specifications and public NMEA sentences
// (testdata/frames.csv).
func TestChecksumsOfPublishedFrames(t *testing.T) {
	for _, r := range readTable(t, "testdata/frames.csv") {
		id, kind, body, check := r[0], r[1], r[2], r[3]
		t.Run(id, func(t *testing.T) {
			want := !strings.HasPrefix(id, "bad")
			var right bool
			switch kind {
			case "Modbus RTU":
				b, err := HexBytes(body)
				require.NoError(t, err)
				right = strings.EqualFold(hex.EncodeToString(modbusCRC.Append(b)[len(b):]), strings.ReplaceAll(check, " ", ""))
			case "Modbus ASCII":
				b, err := HexBytes(body)
				require.NoError(t, err)
				right = strings.EqualFold(strconv.FormatUint(uint64(checksums["lrc"].Of(b)), 16), check)
			default:
				got := strconv.FormatUint(uint64(xor8([]byte(body))), 16)
				right = strings.EqualFold(got, check)
			}
			assert.Equal(t, want, right)
		})
	}
}
