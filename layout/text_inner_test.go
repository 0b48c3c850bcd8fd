package layout

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What a rule says in words is what a fitter checks a mark by; it stands beside the figures
// that the mark is placed by and could say another. These read the words.

var (
	textShare  = regexp.MustCompile(`\b(half|a third of|a quarter of|a fifth of|a sixth of|an eleventh of) the (length|width)\b`)
	textRatio  = regexp.MustCompile(`([0-9.]+(?: \d/\d)?) (in|mm) in ([0-9.]+(?: \d/\d)?) (?:in|mm) of (length|width)\b`)
	textFigure = regexp.MustCompile(`([0-9.]+(?: \d/\d)?) (in|mm|cm)\b`)
	shares     = map[string]float64{"half": 2, "a third of": 3, "a quarter of": 4, "a fifth of": 5, "a sixth of": 6, "an eleventh of": 11}
)

// inWords is the distance that a text says; ok is false when it says none.
func inWords(text string) (d dist, ok bool) {
	share := func(k float64, of string) dist {
		if of == "width" {
			return dist{W: k}
		}
		return dist{L: k}
	}
	number := func(s string) float64 {
		whole, part, _ := strings.Cut(s, " ")
		v, _ := strconv.ParseFloat(whole, 64)
		if a, b, ok := strings.Cut(part, "/"); ok {
			n, _ := strconv.ParseFloat(a, 64)
			m, _ := strconv.ParseFloat(b, 64)
			v += n / m
		}
		return v
	}
	if m := textRatio.FindStringSubmatch(text); m != nil {
		return share(number(m[1])/number(m[3]), m[4]), true
	}
	if m := textFigure.FindStringSubmatch(text); m != nil {
		mm := number(m[1]) * map[string]float64{"in": mmPerInch, "mm": 1, "cm": 10}[m[2]]
		if strings.Contains(text, "square of") {
			mm /= 2 // the value is half the side
		}
		return dist{MM: mm}, true
	}
	if m := textShare.FindStringSubmatch(text); m != nil {
		return share(1/shares[m[1]], m[2]), true
	}
	return dist{}, false
}

// says reports whether a text says a distance.
func says(text string, d dist) bool {
	got, ok := inWords(text)
	const close = 1e-9
	return ok && math.Abs(got.L-d.L) < close && math.Abs(got.W-d.W) < close && math.Abs(got.MM-d.MM) < close && d.Ball == 0 && d.Wall == 0 && d.Terms == nil
}

func TestTextsSayTheirFigures(t *testing.T) {
	values, marks := 0, 0
	for _, g := range allGames() {
		for _, v := range g.Values {
			for _, f := range v.Formulas {
				values++
				assert.True(t, says(f.Text, f.D), "%s, %s: %q beside %+v", g.ID, v.Name, f.Text, f.D)
			}
			for _, f := range v.Fixed {
				values++
				assert.True(t, says(f.Text, dist{MM: f.MM}), "%s, %s on %s: %q beside %g mm", g.ID, v.Name, f.On.Name, f.Text, f.MM)
			}
		}
		for _, r := range g.Marks {
			if d, ok := inWords(r.Text); ok {
				marks++
				assert.True(t, r.stands(d), "%s, %s: %q", g.ID, r.ID, r.Text)
			}
		}
	}
	require.Greater(t, values, 40)
	require.Greater(t, marks, 12)
}

// stands reports whether a mark, of whose place the text says so much, is there.
func (r rule) stands(d dist) bool {
	const l, w = 2000.0, 1000.0
	mm := d.MM + d.L*l + d.W*w
	along := func(a at) float64 {
		return map[datum]float64{fromHead: 0, fromMiddle: l / 2, fromFoot: l}[a.From] +
			map[bool]float64{false: 1, true: -1}[a.From == fromFoot]*(a.Along.L*l+a.Along.W*w+a.Along.MM)
	}
	across := r.A.Across.L*l + r.A.Across.W*w + r.A.Across.MM
	switch text := r.Text; {
	case strings.Contains(text, "right long nose"):
		return r.A.Off == offRight && math.Abs(across-mm) < 1e-9
	case strings.Contains(text, "left long nose"):
		return r.A.Off == offLeft && math.Abs(across-mm) < 1e-9
	case regexp.MustCompile(`\b(head|baulk|bottom|front) nose`).MatchString(text):
		return math.Abs(along(r.A)-mm) < 1e-9
	case regexp.MustCompile(`\b(foot|top|rear) nose`).MatchString(text):
		return math.Abs(l-along(r.A)-mm) < 1e-9
	default: // from either
		return math.Abs(along(r.A)-mm) < 1e-9 && math.Abs(l-along(r.A)-mm) < 1e-9
	}
}

// A text with another figure, unit or side is seen.
func TestWrongTextsAreSeen(t *testing.T) {
	for text, d := range map[string]dist{
		"29 in in 140 1/2 in of length":               {L: 29 / 140.5},
		"radius 11 1/2 in in 70 in of width":          {W: 11.5 / 70},
		"12 3/4 in from the top nose":                 {MM: 12.75 * mmPerInch},
		"18.25 cm from the bottom spot":               {MM: 182.5},
		"a fifth of the length from the baulk nose":   {L: 1. / 5},
		"square of 7 in, one side on the nose":        {MM: 3.5 * mmPerInch},
		"an eleventh of the length from the top nose": {L: 1. / 11},
	} {
		assert.True(t, says(text, d), text)
		assert.False(t, says(text, dist{L: d.L * 1.001, W: d.W * 1.001, MM: d.MM * 1.001}), text)
		assert.False(t, says(text, dist{L: d.W, W: d.L, MM: d.MM + 1}), text)
	}
	quarter := rule{Text: "a quarter of the length from the head nose", A: at{Along: dist{L: 1. / 4}}}
	assert.True(t, quarter.stands(dist{L: 1. / 4}))
	quarter.Text = "a quarter of the length from the foot nose"
	assert.False(t, quarter.stands(dist{L: 1. / 4}))
	quarter.A.From = fromFoot
	assert.True(t, quarter.stands(dist{L: 1. / 4}))
	assert.False(t, says("middle of the baulk line", dist{}), "no figure")
}
