package report

import (
	"encoding/xml"
	"errors"
	"io"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A node is an element of a parsed page.
type node struct {
	name     string
	attr     map[string]string
	children []*node
	text     string // its own
}

// parsePage reads a page as strict XML, which the template keeps to, so that
// every element is closed and every attribute quoted.
func parsePage(t *testing.T, page string) *node {
	t.Helper()
	dec := xml.NewDecoder(strings.NewReader(strings.TrimPrefix(page, "<!DOCTYPE html>\n")))
	dec.Entity = xml.HTMLEntity
	root := &node{}
	stack := []*node{root}
	for {
		token, err := dec.Token()
		if errors.Is(err, io.EOF) {
			require.Len(t, stack, 1)
			require.Len(t, root.children, 1)
			return root.children[0]
		}
		require.NoError(t, err)
		top := stack[len(stack)-1]
		switch x := token.(type) {
		case xml.StartElement:
			n := &node{name: x.Name.Local, attr: map[string]string{}}
			for _, a := range x.Attr {
				n.attr[a.Name.Local] = a.Value
			}
			top.children = append(top.children, n)
			stack = append(stack, n)
		case xml.EndElement:
			stack = stack[:len(stack)-1]
		case xml.CharData:
			top.text += string(x)
		}
	}
}

func (n *node) walk(f func(*node)) {
	f(n)
	for _, c := range n.children {
		c.walk(f)
	}
}

func (n *node) all(name string) (found []*node) {
	n.walk(func(m *node) {
		if m.name == name {
			found = append(found, m)
		}
	})
	return found
}

func (n *node) whole() string {
	s := ""
	n.walk(func(m *node) { s += m.text })
	return s
}

func TestPageStandsAlone(t *testing.T) {
	for name, d := range oddJobs() {
		page := written(t, HTML, d)
		root := parsePage(t, page)
		root.walk(func(n *node) {
			assert.NotContains(t, []string{"script", "link", "iframe", "img", "object", "embed", "use", "image", "a", "form", "foreignObject"}, n.name, name)
			for a, v := range n.attr {
				assert.False(t, strings.HasPrefix(a, "on"), "%s: %s on %s", name, a, n.name)
				assert.NotContains(t, []string{"src", "href", "srcset", "action", "data"}, a, name)
				assert.NotContains(t, v, "url(", name)
			}
		})
		style := root.all("style")[0].whole()
		assert.NotRegexp(t, `url\(|@import|@font-face|expression`, style)
		rest := strings.ReplaceAll(strings.ReplaceAll(page, "http://www.w3.org/2000/svg", ""), "http://www.w3.org/1999/xhtml", "")
		assert.NotRegexp(t, regexp.MustCompile(`https?:`), rest, name)
		assert.Contains(t, page, `content="default-src 'none'; style-src 'unsafe-inline'; img-src data:"`)
	}
}

func TestPageCanBeReadOut(t *testing.T) {
	for name, d := range oddJobs() {
		root := parsePage(t, written(t, HTML, d))
		assert.Equal(t, "en", root.attr["lang"])
		assert.NotEmpty(t, root.all("title")[0].text)
		assert.Len(t, root.all("h1"), 1)
		assert.Len(t, root.all("main"), 1)
		texts := map[string]string{}
		root.walk(func(n *node) {
			if id, ok := n.attr["id"]; ok {
				assert.NotContains(t, texts, id, "%s: id given twice", name)
				texts[id] = n.whole()
			}
		})
		root.walk(func(n *node) {
			for id := range strings.FieldsSeq(n.attr["aria-labelledby"]) {
				assert.NotEmpty(t, texts[id], "%s: nothing is called %s", name, id)
			}
		})
		for _, svg := range root.all("svg") {
			if svg.attr["aria-hidden"] == "true" {
				continue
			}
			assert.Equal(t, "img", svg.attr["role"])
			assert.Regexp(t, `^[^ .].+\. .+\.$`, svg.attr["aria-label"], "what it is, and what it says")
		}
		for _, table := range root.all("table") {
			require.NotEmpty(t, table.all("caption"), name)
			assert.NotEmpty(t, table.all("caption")[0].text, name)
			heads := len(table.all("thead")[0].all("th"))
			for _, r := range table.all("tbody")[0].all("tr") {
				assert.Len(t, r.children, heads, name)
				assert.Equal(t, "row", r.children[0].attr["scope"], name)
			}
		}
	}
}

// Verdicts stand in words beside their mark, so that neither colour nor shape
// is needed.
func TestVerdictInWords(t *testing.T) {
	root := parsePage(t, written(t, HTML, manyPositions()))
	summary := root.all("table")[0]
	assert.Contains(t, summary.whole(), "outside")
	assert.Contains(t, root.whole(), "OUTSIDE the limits you entered: backlash")
}

func TestTextIsEscaped(t *testing.T) {
	page := written(t, HTML, manyPositions())
	assert.NotContains(t, page, "<script")
	root := parsePage(t, page)
	assert.Contains(t, root.whole(), `<script>alert("x")</script> & 5 < 6`)
	assert.Contains(t, root.whole(), "Ελληνικό όχημα / Грузовик 🚚")
}

func TestPageIsSmall(t *testing.T) {
	assert.Less(t, len(written(t, HTML, demoData())), 150_000)
	assert.Less(t, len(written(t, HTML, manyPositions())), 150_000)
}
