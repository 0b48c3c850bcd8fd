package geom_test

import (
	"testing"

	"spotjig/layout/geom"
)

func BenchmarkOffset(b *testing.B) {
	for name, c := range map[string]geom.Contour{"slot": slot(100, 3.1), "dovetailed plate": dovetail(b)} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := c.Offset(0.09); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkContourDistance(b *testing.B) {
	plate, hole := dovetail(b), slot(40, 3.1).Transform(geom.Placement{X: 30, Y: 30})
	b.ReportAllocs()
	for b.Loop() {
		if d := plate.Distance(hole); d <= 0 {
			b.Fatal(d)
		}
	}
}

func BenchmarkContains(b *testing.B) {
	c := dovetail(b)
	for b.Loop() {
		if !c.Contains(geom.Point{X: 60, Y: 30}) {
			b.Fatal("outside")
		}
	}
}
