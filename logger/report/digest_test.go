package report

import (
	"bytes"
	"encoding/base64"
	"encoding/xml"
	"fmt"
	"image"
	"image/png"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/sfnt"

	"crownlog/logger/journal"
	"crownlog/logger/record"
)

// recordedData is the demonstration job with a digest.
func recordedData() Data {
	d := demoData()
	digest := journal.Digest{Job: strings.Repeat("0123", 8), First: strings.Repeat("a1b2", 16), Last: strings.Repeat("c3d4", 16), Lines: 77}
	d.Record = RecordID{digest, "crownlog 1.2.3"}
	return d
}

func decodedQR(t *testing.T, picture image.Image) string {
	t.Helper()
	bits, err := gozxing.NewBinaryBitmapFromImage(picture)
	require.NoError(t, err)
	code, err := qrcode.NewQRCodeReader().Decode(bits, nil)
	require.NoError(t, err)
	return code.GetText()
}

// The code says what captures.digest holds, as another program reads it.
func TestQRCodeInHTML(t *testing.T) {
	d := recordedData()
	page := written(t, HTML, d)
	m := regexp.MustCompile(`href="data:image/png;base64,([^"]+)"`).FindStringSubmatch(page)
	require.NotNil(t, m)
	pixels, err := base64.StdEncoding.DecodeString(m[1])
	require.NoError(t, err)
	picture, err := png.Decode(bytes.NewReader(pixels))
	require.NoError(t, err)
	assert.Equal(t, d.Record.Text(), decodedQR(t, picture))
	assert.Less(t, strings.LastIndex(page, "data:image/png"), strings.Index(page, `class="sign"`), "above the signature")
	d.Record.Job = "" // of a job begun before there was a chain
	assert.NotContains(t, written(t, HTML, d), "image/png", "no digest, no code")
}

// pdfPage is a page of a PDF as it is printed, 150 dots an inch.
func pdfPage(t *testing.T, pdf string, page int) image.Image {
	t.Helper()
	if _, err := exec.LookPath("pdftoppm"); err != nil {
		t.Skip("no pdftoppm here, apt-get install poppler-utils:", err)
	}
	name := filepath.Join(t.TempDir(), "report")
	require.NoError(t, os.WriteFile(name+".pdf", []byte(pdf), 0o600))
	at := fmt.Sprint(page)
	require.NoError(t, exec.Command("pdftoppm", "-r", "150", "-png", "-singlefile", "-f", at, "-l", at, name+".pdf", name).Run())
	file, err := os.Open(name + ".png")
	require.NoError(t, err)
	defer file.Close()
	picture, err := png.Decode(file)
	require.NoError(t, err)
	return picture
}

func TestQRCodeInPDF(t *testing.T) {
	d := recordedData()
	pdf := written(t, PDF, d)
	assert.Equal(t, d.Record.Text(), decodedQR(t, pdfPage(t, pdf, pdfPages(t, pdf))), "on the page that is signed")
}

// However much is on the pages before, the last has the words and the digest that
// the signatures are for.
func TestNobodySignsBelowNothing(t *testing.T) {
	for notes := 0; notes < 64; notes += 9 {
		j := &demoJob{}
		for range notes {
			j.add(record.StageFinal, record.FeatureNote, 0, 0, 0, 0, "").Note = "one of many notes"
		}
		d := Build(demoSheet(), j.captures, reportDate)
		d.Record = recordedData().Record
		pages := slices.DeleteFunc(pdfStreams(t, written(t, PDF, d)), func(s string) bool { return !strings.Contains(s, " Tj") })
		assert.Regexp(t, `/I\w+ Do`, pages[len(pages)-1], "%d notes: the code stands on the last page", notes)
	}
}

// Where a letter of a name has no place in the fonts, every page says so; nothing
// is a box.
func TestNamesThatCannotBeDrawn(t *testing.T) {
	by := func(name string) Data {
		s := demoSheet()
		s.Vehicle.Operator = name
		return Build(s, demoCaptures(), reportDate)
	}
	d := by("Łukasz Žižka, Ελένη, Юрий")
	l := newPDFLayout(d, "")
	l.page(compose(d))
	assert.False(t, l.undrawn)
	d = by("王伟")
	l = newPDFLayout(d, "")
	l.page(compose(d))
	assert.True(t, l.undrawn)
	assert.Equal(t, "??", l.letters("王伟"))
	assert.Contains(t, written(t, HTML, d), "王伟")

	bold, err := sfnt.Parse(gobold.TTF)
	require.NoError(t, err)
	for r := rune(0x21); r < 0x2600; r++ {
		a, _ := goFont.GlyphIndex(nil, r)
		b, _ := bold.GlyphIndex(nil, r)
		assert.Equal(t, a == 0, b == 0, "%q", r)
	}
}

// The metadata are sound XML, with the job in the title and the record's number.
func TestPDFMetadata(t *testing.T) {
	d := recordedData()
	d.Sheet.Vehicle.Label = `A & B <"x">`
	pdf := written(t, PDF, d)
	assert.Contains(t, pdf, "/Lang (en)")
	assert.Regexp(t, `/Metadata \d+ 0 R`, pdf)
	from, to := strings.Index(pdf, "<?xpacket begin"), strings.Index(pdf, `<?xpacket end="r"?>`)
	require.Less(t, from, to)
	dec, texts := xml.NewDecoder(strings.NewReader(pdf[from:to])), ""
	for {
		token, err := dec.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		if text, ok := token.(xml.CharData); ok {
			texts += string(text)
		}
	}
	assert.Contains(t, texts, `A & B <"x">, D-0417, Crown wheel and pinion setting record`)
	assert.Contains(t, texts, d.Record.Job+" "+d.Record.Last)
	assert.Contains(t, texts, "2026-03-14T16:30:00Z")
}
