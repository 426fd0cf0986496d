package report

import (
	_ "embed"
	"html/template"
	"io"
	"regexp"
	"strings"

	"crownlog/analysis/gum"
)

//go:embed page.html
var pageHTML string

//go:embed page.css
var pageCSS string

var pageTemplate = template.Must(template.New("page").Funcs(template.FuncMap{
	"dashed":  func(v gum.Verdict) string { return strings.ReplaceAll(v.String(), " ", "-") },
	"kept":    func(s string) string { return figureAndUnit.ReplaceAllString(s, "$1$3\u00a0$2$4") },
	"icon":    func(v gum.Verdict) template.HTML { return template.HTML(verdictIcon(v).svg()) },
	"next":    func(i int) int { return i + 1 },
	"picture": func(d *drawing) template.HTML { return template.HTML(d.svg()) },
	"style":   func() template.CSS { return template.CSS(pageCSS) },
}).Parse(pageHTML))

// figureAndUnit is where a line must not break.
var figureAndUnit = regexp.MustCompile(`([0-9]) (mm|N·m|kPa|lbf|kgf|bar|psi|in\b|L\b|s\b|%)|([≤≥±]) ([0-9])`)

// HTML writes d as one self-contained page: no script, nothing fetched, SVG
// pictures inside, ready to print on A4 or Letter.
func HTML(w io.Writer, d Data) error { return pageTemplate.Execute(w, compose(d)) }

// Class names what a column holds, for the style sheet.
func (c column) Class() string {
	return given(c.Number, "number") + given(!c.Number, "word") + given(c.Head == "Verdict", " verdicts")
}

// Class says how the entry in column k is set.
func (t *table) Class(k int, e entry) string {
	return t.Columns[k].Class() + given(e.Strong, " strong") + given(e.Judged, " judged")
}
