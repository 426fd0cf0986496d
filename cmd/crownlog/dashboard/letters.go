package dashboard

import "strings"

// letterRows is the height of a letter in dots; letters are 3 to 5 dots wide.
const letterRows = 5

// letters are block capitals, row by row, for words read from two metres.
var letters = map[rune][letterRows]string{
	'A': {" # ", "# #", "###", "# #", "# #"},
	'B': {"## ", "# #", "## ", "# #", "## "},
	'C': {" ##", "#  ", "#  ", "#  ", " ##"},
	'D': {"## ", "# #", "# #", "# #", "## "},
	'E': {"###", "#  ", "## ", "#  ", "###"},
	'F': {"###", "#  ", "## ", "#  ", "#  "},
	'G': {" ###", "#   ", "# ##", "#  #", " ## "},
	'H': {"# #", "# #", "###", "# #", "# #"},
	'I': {"#", "#", "#", "#", "#"},
	'J': {"  #", "  #", "  #", "# #", " # "},
	'K': {"# #", "# #", "## ", "# #", "# #"},
	'L': {"#  ", "#  ", "#  ", "#  ", "###"},
	'M': {"#   #", "## ##", "# # #", "#   #", "#   #"},
	'N': {"#  #", "## #", "# ##", "#  #", "#  #"},
	'O': {" # ", "# #", "# #", "# #", " # "},
	'P': {"## ", "# #", "## ", "#  ", "#  "},
	'Q': {" # ", "# #", "# #", "## ", " ##"},
	'R': {"## ", "# #", "## ", "# #", "# #"},
	'S': {" ##", "#  ", " # ", "  #", "## "},
	'T': {"###", " # ", " # ", " # ", " # "},
	'U': {"# #", "# #", "# #", "# #", "###"},
	'V': {"# #", "# #", "# #", "# #", " # "},
	'W': {"#   #", "#   #", "# # #", "## ##", "#   #"},
	'X': {"# #", "# #", " # ", "# #", "# #"},
	'Y': {"# #", "# #", " # ", " # ", " # "},
	'Z': {"###", "  #", " # ", "#  ", "###"},
	'0': {"###", "# #", "# #", "# #", "###"},
	'1': {" #", "##", " #", " #", " #"},
	'2': {"###", "  #", "###", "#  ", "###"},
	'3': {"###", "  #", " ##", "  #", "###"},
	'4': {"# #", "# #", "###", "  #", "  #"},
	'5': {"###", "#  ", "###", "  #", "###"},
	'6': {"###", "#  ", "###", "# #", "###"},
	'7': {"###", "  #", "  #", "  #", "  #"},
	'8': {"###", "# #", "###", "# #", "###"},
	'9': {"###", "# #", "###", "  #", "###"},
	'.': {" ", " ", " ", " ", "#"},
	',': {"  ", "  ", "  ", " #", "# "},
	':': {" ", "#", " ", "#", " "},
	'-': {"  ", "  ", "##", "  ", "  "},
	'+': {"   ", " # ", "###", " # ", "   "},
	'/': {"  #", "  #", " # ", "#  ", "#  "},
	'(': {" #", "# ", "# ", "# ", " #"},
	')': {"# ", " #", " #", " #", "# "},
	'°': {"##", "##", "  ", "  ", "  "},
	'·': {" ", " ", "#", " ", " "},
	'?': {"## ", "  #", " # ", "   ", " # "},
	' ': {"  ", "  ", "  ", "  ", "  "},
}

// lettersHigh is the rows block letters of a scale take.
func lettersHigh(scale int) int { return (letterRows*scale + 1) / 2 }

// lettersWide is the columns s takes in block letters of a scale; ok is false
// where a character has no block letter.
func lettersWide(s string, scale int) (n int, ok bool) {
	for _, r := range strings.ToUpper(s) {
		g, known := letters[r]
		if !known {
			return 0, false
		}
		n += (len(g[0]) + 1) * scale
	}
	return max(n-scale, 0), true
}

// bigText draws s in block letters of a scale from the upper left of c and
// returns the columns used.
func bigText(c canvas, s string, scale int, k ink) int {
	x := 0
	for _, r := range strings.ToUpper(s) {
		g := letters[r]
		w := len(g[0]) * scale
		block(c, x, w, lettersHigh(scale), k, func(px, py int) bool {
			return py/scale < letterRows && g[py/scale][px/scale] == '#'
		})
		x += w + scale
	}
	return max(x-scale, 0)
}

// word writes a state or verdict word as large as c allows: block letters
// where they fit, else plain capitals. It returns the rows used.
func word(c canvas, s string, k ink) int {
	for scale := c.h * 2 / letterRows; scale >= 1; scale-- {
		if w, ok := lettersWide(s, scale); ok && w <= c.w && lettersHigh(scale) <= c.h && !c.ascii {
			bigText(c, s, scale, k)
			return lettersHigh(scale)
		}
	}
	c.text(0, c.h/2, clip(strings.ToUpper(s), c.w, c.ascii), k)
	return c.h
}

// bigParagraph writes s in block letters over the rows of c, broken between
// words, one row of air between the lines. It draws nothing and returns false
// where s does not fit.
func bigParagraph(c canvas, s string, k ink) bool {
	if c.ascii {
		return false
	}
	var lines []string
	line := ""
	for _, w := range strings.Fields(s) {
		try := strings.TrimSpace(line + " " + w)
		n, ok := lettersWide(try, 1)
		if !ok {
			return false
		}
		if n > c.w {
			if line == "" {
				return false
			}
			lines, try = append(lines, line), w
			if n, _ := lettersWide(w, 1); n > c.w {
				return false
			}
		}
		line = try
	}
	lines = append(lines, line)
	pitch := lettersHigh(1)
	if len(lines)*pitch > c.h {
		return false
	}
	for i, l := range lines {
		bigText(c.pane(0, i*pitch, c.w, pitch), l, 1, k)
	}
	return true
}
