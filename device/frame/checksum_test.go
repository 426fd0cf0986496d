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
		"lrc": "LRC (Modbus ASCII", "sum8": "8-bit sum", "xor8": "XOR of all bytes", "sum16": "16-bit sum",
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

// A checksum is found where it stands, in either order of its bytes, and one
// that is off by a bit is wrong.
func TestChecksumBehindItsBytes(t *testing.T) {
	for name, c := range checksums {
		t.Run(name, func(t *testing.T) {
			own, ok := ChecksumNamed(name)
			require.True(t, ok)
			b := own.Append([]byte("x123456789"))
			require.Equal(t, strings.HasSuffix(name, "sum16") || strings.HasPrefix(name, "crc16"), c.Size == 2)
			require.Len(t, b, 10+c.Size)
			at := len(b) - c.Size
			assert.True(t, own.Right(append(b, 0xEE), 0, at, false))
			b[at] ^= 1
			assert.False(t, own.Right(b, 0, at, false))
			b[at] ^= 1
			if c.Size == 2 {
				b[at], b[at+1] = b[at+1], b[at]
				assert.True(t, own.Right(b, 0, at, true))
				assert.False(t, own.Right(b, 0, at, false))
			}
			skipped := append([]byte{0x55}, own.Append([]byte("12345"))...)
			assert.True(t, own.Right(skipped, 1, 6, false))
			assert.False(t, own.Right(skipped, 0, 6, false))
		})
	}
	_, ok := ChecksumNamed("crc32")
	assert.False(t, ok)
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
				got := strconv.FormatUint(uint64(checksums["xor8"].Of([]byte(body))), 16)
				right = strings.EqualFold(got, check)
			}
			assert.Equal(t, want, right)
		})
	}
}
