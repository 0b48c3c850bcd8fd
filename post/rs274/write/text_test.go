package write_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"spotjig/layout/geom"
	"spotjig/post/rs274/write"
)

func TestFixed(t *testing.T) {
	for _, tc := range []struct {
		mm   float64
		dec  int
		want string
	}{
		{0, 4, "0.0000"}, {-0.00004, 4, "0.0000"}, {-0.0004, 4, "-0.0004"}, {-0.00006, 4, "-0.0001"},
		{0.5, 4, "0.5000"}, {-12.34567, 4, "-12.3457"}, {1e5, 4, "100000.0000"}, {0.000014, 5, "0.00001"}, {-7, 5, "-7.00000"},
	} {
		n := int64(math.Round(tc.mm * math.Pow10(tc.dec)))
		assert.Equal(t, tc.want, write.Fixed(n, tc.dec))
	}
}

func TestShort(t *testing.T) {
	for _, tc := range []struct {
		v    float64
		dec  int
		want string
	}{{600, 2, "600"}, {600.5, 2, "600.5"}, {1000.004, 2, "1000"}, {0.25, 3, "0.25"}, {100, 0, "100"}, {23.622, 3, "23.622"}} {
		assert.Equal(t, tc.want, write.Short(tc.v, tc.dec))
	}
}

// Comments hold printable ASCII without brackets and without the characters some
// controllers act on wherever they stand (from memory: ! ~ ? $ % ;).
func TestClean(t *testing.T) {
	for _, tc := range []struct{ in, want string }{
		{"plain text, 12.5 mm", "plain text, 12.5 mm"},
		{"a (b) c; d % e", "a b c - d  e"},
		{"stop! ~ ? $x", "stop   x"},
		{"8½ × 4° ±0.1 µm", "8 1/2 x 4 deg +-0.1 um"},
		{"café\tbar\nG0 X1", "caf_ bar G0 X1"},
		{"“quoted” – dash", "\"quoted\" - dash"},
	} {
		assert.Equal(t, tc.want, write.Clean(tc.in))
	}
	assert.Equal(t, "(note: MSG, hello)", write.Comment("MSG, hello", 70))
	assert.Equal(t, "(note: msg,x)", write.Comment("  msg,x", 70))
}

// Whatever a user writes, no line breaks out of its comment or grows too long.
func TestHostileHeaders(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringN(0, 300, -1)
		lineMax := rapid.SampledFrom([]int{0, 60, 65, 70, 256}).Draw(t, "lineMax")
		m := laser()
		m.LineMax = lineMax
		tp := toolpath(geom.Circle(pt(50, 40), 1.46).Reversed())
		tp.Ops[0].Part, tp.Ops[0].Feature = text.Draw(t, "part"), text.Draw(t, "feature")
		got := program(t, tp, write.Options{
			Machine: m, Version: text.Draw(t, "version"), Job: text.Draw(t, "job"), Table: text.Draw(t, "table"),
			Notes: []string{text.Draw(t, "note")}, Cautions: []string{text.Draw(t, "caution"), "G0 X1\n)M3 S1000("},
		})
		limit := 70
		if lineMax > 0 && lineMax < 70 {
			limit = lineMax
		}
		assert.Len(t, blocks(t, got, limit), 13)
	})
}

func TestLongHeadersBreakBetweenWords(t *testing.T) {
	caution := strings.Repeat("keep the lid shut ", 12)
	got := program(t, toolpath(geom.Circle(pt(50, 40), 1.46)), write.Options{Machine: laser(), Cautions: []string{caution}})
	var all []string
	for _, l := range strings.Split(got, "\n") {
		if strings.Contains(l, "lid") || strings.Contains(l, "shut") {
			all = append(all, strings.Trim(l, "()"))
		}
	}
	assert.Greater(t, len(all), 2)
	assert.Equal(t, "CAUTION: "+strings.TrimSpace(caution), strings.Join(all, " "))
}
