package frame

import (
	"encoding/csv"
	"encoding/hex"
	"fmt"
	"os"
	"slices"
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
		"crc16-genibus": "CRC-16/GENIBUS", "crc8": "CRC-8/SMBUS", "crc32": "CRC-32/ISO-HDLC",
		"lrc": "LRC (Modbus ASCII", "sum8": "8-bit sum", "xor8": "XOR of all bytes", "sum16": "16-bit sum",
	}
	require.Len(t, rowOf, len(crcs)+len(folds), "every checksum has a published check value")
	rows := readTable(t, "testdata/crc.csv")
	for name, row := range rowOf {
		t.Run(name, func(t *testing.T) {
			found := false
			for _, r := range rows {
				if !strings.HasPrefix(r[0], row) {
					continue
				}
				found = true
				want, err := strconv.ParseUint(r[8], 0, 32)
				require.NoError(t, err)
				assert.Equal(t, uint32(want), sumOf(t, name).Of([]byte("123456789")))
			}
			assert.True(t, found, "no row %q", row)
		})
	}
}

func sumOf(t testing.TB, name string) Checksum {
	t.Helper()
	c, ok := ChecksumNamed(name)
	require.True(t, ok, name)
	return c
}

// Every CRC of the catalogue's rows, by its parameters.
func TestCRCsByParameters(t *testing.T) {
	n := 0
	for _, r := range readTable(t, "testdata/crc.csv") {
		if r[3] == "" {
			continue
		}
		n++
		want, err := strconv.ParseUint(r[8], 0, 32)
		require.NoError(t, err)
		name := fmt.Sprintf("width=%s poly=%s init=%s refin=%s refout=%s xorout=%s", r[2], r[3], r[4], r[5], r[6], r[7])
		assert.Equal(t, uint32(want), sumOf(t, name).Of([]byte("123456789")), r[0])
		assert.Equal(t, uint32(want), sumOf(t, name+" check="+r[8]+" residue=0x0000").Of([]byte("123456789")), "the catalogue's whole line")
	}
	assert.Equal(t, 23, n)
	for _, wrong := range []string{
		"crc99", "width=16", "width=12 poly=0x80f init=0 refin=false refout=false xorout=0", "width=0 poly=0x0 init=0 refin=false refout=false xorout=0",
		"width=40 poly=0x1 init=0 refin=false refout=false xorout=0", "width=8 poly=0x107 init=0 refin=false refout=false xorout=0",
		"width=8 poly=0x07 init=0x100 refin=false refout=false xorout=0", "width=8 poly=0x07 init=0 refin=false refout=false xorout=0x100",
		"width=8 poly=0x07 init=0 refin=maybe refout=false xorout=0", "width=8 poly=07x init=0 refin=false refout=false xorout=0",
	} {
		_, ok := ChecksumNamed(wrong)
		assert.False(t, ok, wrong)
	}
}

// A checksum is found where it stands, in either order of its bytes, and one
// that is off by a bit is wrong.
func TestChecksumBehindItsBytes(t *testing.T) {
	for name, size := range map[string]int{"sum8": 1, "sum16": 2, "xor8": 1, "lrc": 1, "crc8": 1, "crc16-modbus": 2, "crc16-genibus": 2, "crc32": 4,
		"width=24 poly=0x864cfb init=0xb704ce refin=false refout=false xorout=0x000000": 3} {
		t.Run(name, func(t *testing.T) {
			own := sumOf(t, name)
			require.Equal(t, size, own.Size)
			b := own.Append([]byte("x123456789"))
			require.Len(t, b, 10+size)
			assert.True(t, own.Right(append(b, 0xEE), 0, 10, false))
			for i := range size {
				b[10+i] ^= 1
				assert.False(t, own.Right(b, 0, 10, false))
				b[10+i] ^= 1
			}
			slices.Reverse(b[10:])
			assert.True(t, own.Right(b, 0, 10, true))
			assert.Equal(t, size == 1, own.Right(b, 0, 10, false))
			skipped := append([]byte{0x55}, own.Append([]byte("12345"))...)
			assert.True(t, own.Right(skipped, 1, 6, false))
			assert.False(t, own.Right(skipped, 0, 6, false))
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
				right = strings.EqualFold(strconv.FormatUint(uint64(sumOf(t, "lrc").Of(b)), 16), check)
			default:
				got := strconv.FormatUint(uint64(sumOf(t, "xor8").Of([]byte(body))), 16)
				right = strings.EqualFold(got, check)
			}
			assert.Equal(t, want, right)
		})
	}
}
