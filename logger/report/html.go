package report

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"strings"
	"unicode/utf8"
)

//go:embed page.html
var pageHTML string

//go:embed page.css
var pageCSS string

var pageTemplate = template.Must(template.New("page").Parse(pageHTML))

// HTML writes d as one self-contained page: no script, nothing fetched, SVG
// pictures inside, ready to print on A4 or Letter.
func HTML(w io.Writer, d Data) error {
	if err := pageTemplate.Execute(w, newHTMLPage(compose(d))); err != nil {
		return fmt.Errorf("write html report: %w", err)
	}
	return nil
}

// The htmlPage family is a page with its pictures as markup, for the template.
type htmlPage struct {
	Style    template.CSS
	Banner   string
	Title    string
	Block    []field
	Verdict  string // class name
	Icon     template.HTML
	Headline string
	Under    []string
	Sections []htmlSection
	Signs    []string
	Foot     string
}

type htmlSection struct {
	ID, Title string
	Rows      [][]htmlPanel
}

type htmlPanel struct {
	Share   template.CSS
	Picture template.HTML
	Table   *htmlTable
	Lines   []string
}

type htmlTable struct {
	Caption string
	Heads   []htmlCell
	Rows    [][]htmlCell
}

type htmlCell struct {
	Text   string
	Class  string
	Icon   template.HTML
	Header bool // names its row
}

func newHTMLPage(p page) htmlPage {
	h := htmlPage{
		Style: template.CSS(pageCSS), Banner: p.banner, Title: p.title, Block: p.block,
		Verdict: strings.ReplaceAll(p.verdict.String(), " ", "-"), Icon: icon(verdictIcon(p.verdict)),
		Headline: p.headline, Under: p.under, Signs: p.signs, Foot: p.foot,
	}
	pictures := 0
	for i, s := range p.sections {
		hs := htmlSection{ID: fmt.Sprintf("s%d", i+1), Title: s.title}
		for _, r := range s.rows {
			var panels []htmlPanel
			for _, pn := range r {
				hp := htmlPanel{Share: template.CSS(coordinate(pn.share)), Table: newHTMLTable(pn.table), Lines: pn.lines}
				if pn.picture != nil {
					pictures++
					hp.Picture = template.HTML(pn.picture.svg(fmt.Sprintf("p%d", pictures)))
				}
				panels = append(panels, hp)
			}
			hs.Rows = append(hs.Rows, panels)
		}
		h.Sections = append(h.Sections, hs)
	}
	return h
}

func newHTMLTable(t *table) *htmlTable {
	if t == nil {
		return nil
	}
	h := &htmlTable{Caption: t.caption}
	for _, c := range t.columns {
		h.Heads = append(h.Heads, htmlCell{Text: c.head, Class: columnClass(c)})
	}
	for _, r := range t.rows {
		var cells []htmlCell
		for k, e := range r {
			c := htmlCell{Text: e.text, Class: columnClass(t.columns[k]), Header: k == 0}
			if k == 0 && utf8.RuneCountInString(e.text) <= shortName && longestWord(e.text) <= longWord {
				c.Class += " short"
			}
			if longestWord(e.text) > longWord {
				c.Class += " long"
			}
			if e.strong {
				c.Class += " strong"
			}
			if e.judged {
				c.Class += " judged"
				c.Icon = icon(verdictIcon(e.verdict))
			}
			cells = append(cells, c)
		}
		h.Rows = append(h.Rows, cells)
	}
	return h
}

// shortName is how many letters of a row's name are kept on one line.
const shortName = 24

// longWord is how many letters without a space are broken rather than let a
// table grow beyond its page.
const longWord = 18

func longestWord(s string) int {
	longest := 0
	for word := range strings.FieldsSeq(s) {
		longest = max(longest, utf8.RuneCountInString(word))
	}
	return longest
}

func columnClass(c column) string {
	if c.number {
		return "number"
	}
	return "word"
}

// icon is a picture beside a text that says the same, hidden from those who
// have the page read out.
func icon(d *drawing) template.HTML {
	s := d.svg("")
	open := strings.Index(s, "<title")
	body := s[strings.Index(s, "</desc>")+len("</desc>"):]
	head := strings.Replace(s[:open], ` role="img"`, "", 1)
	head = head[:strings.Index(head, ` aria-labelledby`)]
	return template.HTML(head + ` class="icon" aria-hidden="true">` + body)
}
