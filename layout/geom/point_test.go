package geom_test

import (
	"github.com/stretchr/testify/assert"

	"spotjig/layout/geom"
)

func box(x0, y0, x1, y1 float64) geom.Box {
	return geom.Box{Min: geom.Point{X: x0, Y: y0}, Max: geom.Point{X: x1, Y: y1}}
}

func assertBox(t assert.TestingT, want, got geom.Box, tol float64) {
	assert.InDelta(t, want.Min.X, got.Min.X, tol, "min x")
	assert.InDelta(t, want.Min.Y, got.Min.Y, tol, "min y")
	assert.InDelta(t, want.Max.X, got.Max.X, tol, "max x")
	assert.InDelta(t, want.Max.Y, got.Max.Y, tol, "max y")
}
