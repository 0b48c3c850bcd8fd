package job_test

import (
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"spotjig/layout/figure"
	"spotjig/layout/job"
	"spotjig/layout/problem"
)

// The inch is 25.4 mm exactly (international yard and pound agreement, 1959;
// also ISO 31-1). Expected values below are hand products of that.
func TestParseLength(t *testing.T) {
	tests := []struct {
		name, text string
		want       float64
	}{
		{"bare number is mm", "2540", 2540},
		{"mm", "2540 mm", 2540},
		{"mm, no blank", "2540mm", 2540},
		{"cm", "254 cm", 2540},
		{"m", "2.54 m", 2540},
		{"in", "100 in", 2540},
		{"inch mark", `100"`, 2540},
		{"feet and inches", "8 ft 4 in", 2540},
		{"feet and inch marks", `8' 4"`, 2540},
		{"marks, no blank", `8'4"`, 2540},
		{"builder's hyphen", `8'-4"`, 2540},
		{"inches and a half", "46 1/2 in", 1181.1},
		{"hyphen fraction", `46-1/2"`, 1181.1},
		// WPBSA full size: 11 ft 8 1/2 in is 140.5 in, printed there as 3569 mm.
		{"full size", "11ft 8 1/2in", 3568.7},
		{"full size in marks", `11' 8-1/2"`, 3568.7},
		{"fraction sign", "11ft 8½in", 3568.7},
		{"fraction signs", "¾ in", 19.05},
		{"eighths sign", "1⅛ in", 28.575},
		{"primes", "8′ 4″", 2540},
		{"curly quotes", "8’ 4”", 2540},
		{"two single quotes", "8' 4''", 2540},
		{"fraction alone", "1/32 in", 0.79375},
		{"improper fraction alone", "3/2 in", 38.1},
		{"inches alone above 12", "14 in", 355.6},
		{"feet alone", "4.5 ft", 1371.6},
		{"feet with a fraction", "4 1/2 ft", 1371.6},
		{"words", "8 feet 4 inches", 2540},
		{"capitals", "100 IN", 2540},
		{"abbreviation point", "100 in.", 2540},
		{"no-break blank", "100\u00a0in", 2540},
		{"blanks around", "  2540 mm ", 2540},
		{"plus", "+5", 5},
		{"minus", "-5 mm", -5},
		{"minus sign", "−5 mm", -5},
		{"minus over feet and inches", "-8 ft 4 in", -2540},
		{"nought", "0", 0},
		{"minus nought", "-0", 0},
		{"leading nought is no octal", "012", 12},
		{"point first", ".5 in", 12.7},
		{"point last", "5. mm", 5},
		{"at the limit", "100000", 100_000},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := job.ParseLength(tt.text)
			require.NoError(t, err)
			assert.InDelta(t, tt.want, got, 1e-9)
			assert.False(t, math.Signbit(got) && got == 0, "a minus nought")
		})
	}
}

func TestParseLengthRefuses(t *testing.T) {
	tests := []struct{ name, text, code, says string }{
		{"nothing", "", "L001", "no length"},
		{"blank", "   ", "L001", "no length"},
		{"sign alone", "-", "L001", "no length"},
		{"words", "about 100", "L001", "not a length"},
		{"two numbers", "100 50", "L001", "two numbers"},
		{"too long", strings.Repeat("1", 41), "L001", "longer than any"},
		{"bytes", "\xff\xfe", "L001", "UTF-8"},
		{"two points", "1.2.3", "L002", "unknown unit"},
		{"unknown unit", "100 kg", "L002", `unknown unit "kg"`},
		{"yards", "2 yd", "L002", "unknown unit"},
		{"misspelt unit", "100 imch", "L002", `did you mean "inch"?`},
		{"hexadecimal", "0x1F", "L002", "unknown unit"},
		{"underscore", "1_000", "L002", "unknown unit"},
		{"not a number", "nan", "L003", "not a finite length"},
		{"yaml's not a number", ".nan", "L003", "not a finite length"},
		{"infinite", "inf", "L003", "not a finite length"},
		{"yaml's infinity", "-.inf", "L003", "not a finite length"},
		{"exponent", "1e3", "L004", "exponent"},
		{"exponent with sign", "2.54e+3 mm", "L004", "exponent"},
		{"exponent with minus", "1e-3", "L004", "exponent"},
		{"decimal comma", "2,54 m", "L005", "comma"},
		{"thousands comma", "2,540", "L005", "comma"},
		{"fraction without unit", "46 1/2", "L006", "fraction without a unit"},
		{"sign without unit", "46½", "L006", "fraction without a unit"},
		{"fraction of mm", "1/2 mm", "L006", "fraction of a metric unit"},
		{"divided by nought", "1/0 in", "L006", "parts of 0"},
		{"finer than a tape", "1/129 in", "L006", "parts of 129"},
		{"fraction of one", "46 2/2 in", "L006", "1 or more"},
		{"point and fraction", "46.5 1/2 in", "L006", "decimal point and a fraction"},
		{"nothing below", "1/ in", "L006", "whole numbers"},
		{"point below", "1/2.5 in", "L006", "whole numbers"},
		{"inches over a foot", "8 ft 12 in", "L007", "12 inches or more"},
		{"broken feet", "8.5 ft 4 in", "L007", "feet with a fraction"},
		{"inches then feet", "4 in 8 ft", "L007", "left over"},
		{"feet then feet", "8 ft 4 ft", "L007", "only inches"},
		{"feet then mm", "8 ft 4 mm", "L007", "only inches"},
		{"feet then bare", "8 ft 4", "L007", "only inches"},
		{"metres then cm", "2 m 54 cm", "L007", "left over"},
		{"three", "8 ft 4 in 2 in", "L007", "left over"},
		{"too large", "100000.1", "L008", "100 m"},
		{"far too large", "9999999999999999999999", "L008", "100 m"},
		{"overflowing", "1" + strings.Repeat("0", 39), "L008", "100 m"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := job.ParseLength(tt.text)
			require.Error(t, err)
			var p problem.Problem
			require.ErrorAs(t, err, &p)
			assert.Equal(t, tt.code, p.Code, p.Msg)
			assert.Contains(t, p.Msg, tt.says)
			assert.NotEmpty(t, p.Help)
		})
	}
}

// What is printed for people reads back within the rounding of the print:
// half of 0.1 mm, half of 1/32 in.
func TestPrintedLengthsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-5000, 5000).Draw(t, "v")
		mm, err := job.ParseLength(figure.MM(v))
		require.NoError(t, err)
		assert.InDelta(t, v, mm, 0.05+1e-9)
		in, err := job.ParseLength(figure.Inches(v))
		require.NoError(t, err)
		assert.InDelta(t, v, in, 25.4/64+1e-9)
		assert.Equal(t, figure.Inches(in), figure.Inches(v), "printing what was read changes nothing")
	})
}

// Every way of writing the same feet, inches and fraction means the same.
func TestSpellingsAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ft := rapid.IntRange(0, 12).Draw(t, "ft")
		in := rapid.IntRange(0, 11).Draw(t, "in")
		den := rapid.SampledFrom([]int{2, 4, 8, 16, 32, 64}).Draw(t, "den")
		num := rapid.IntRange(1, den-1).Draw(t, "num")
		want := (float64(ft*12+in) + float64(num)/float64(den)) * 25.4
		for _, text := range feetInchesSpellings(ft, in, num, den) {
			got, err := job.ParseLength(text)
			require.NoError(t, err, text)
			assert.InDelta(t, want, got, 1e-9, text)
		}
	})
}

func FuzzParseLength(f *testing.F) {
	for _, s := range []string{"2540", `8' 4"`, "46-1/2 in", "11ft 8½in", "1e9", "-.inf", "1/0 in", "\xff", "8'-4\"", "2 m 54 cm", "''''"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		v, err := job.ParseLength(text)
		if err != nil {
			var p problem.Problem
			require.ErrorAs(t, err, &p)
			assert.Regexp(t, `^L\d{3}$`, p.Code)
			assert.NotEmpty(t, p.Msg)
			assert.NotEmpty(t, p.Help)
			return
		}
		assert.LessOrEqual(t, math.Abs(v), 100_000.0)
		assert.True(t, utf8.ValidString(text))
		again, err := job.ParseLength(figure.MM(v))
		require.NoError(t, err)
		assert.InDelta(t, v, again, 0.05+1e-9)
	})
}

// A hyphen before a fraction sign is as one before a fraction.
func TestHyphenBeforeFractionSign(t *testing.T) {
	for _, text := range []string{"46-½ in", "46-1/2 in", "46½ in", "46- 1/2 in"} {
		mm, err := job.ParseLength(text)
		require.NoError(t, err, text)
		assert.InDelta(t, 46.5*25.4, mm, 1e-9, text)
	}
	_, err := job.ParseLength("1-½")
	assert.ErrorContains(t, err, "a fraction without a unit")
}

// A digit behind a fraction sign belongs to no denominator.
func TestFractionSignEndsItsNumber(t *testing.T) {
	_, err := job.ParseLength("½1in")
	assert.Error(t, err, "no 1/21 in")
	v, err := job.ParseLength(`6½in`)
	require.NoError(t, err)
	assert.InDelta(t, 6.5*25.4, v, 1e-9)
}
