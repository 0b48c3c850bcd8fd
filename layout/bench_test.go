package layout_test

import (
	"testing"

	"spotjig/layout"
)

// The named job: a 9 ft table out of square, pool, snooker and balkline on it.
func BenchmarkPlan(b *testing.B) {
	t, _, err := layout.Fit(benchSurvey())
	if err != nil {
		b.Fatal(err)
	}
	r := layout.Request{Table: t, Games: []string{"pool", "snooker", "balkline-47"}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := layout.NewPlan(r); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFit(b *testing.B) {
	s := benchSurvey()
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := layout.Fit(s); err != nil {
			b.Fatal(err)
		}
	}
}

func benchSurvey() layout.Survey {
	s := trueTable{[4][2]float64{{0, -635}, {2538, -630}, {2542, 640}, {0, 635}}}.survey(200, 300, 250)
	s.LengthLeft += 0.4
	s.WidthMiddle -= 0.3
	s.Resolution = 0.5
	return s
}
