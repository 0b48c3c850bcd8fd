//go:build geos

package work

import (
	"cmp"
	"context"
	"math"
	"path/filepath"
	"slices"
	"testing"

	sf "github.com/peterstace/simplefeatures/geom"
	"github.com/peterstace/simplefeatures/geos"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/cam/path"
	"spotjig/layout/geom"
)

// flatStep is how finely curves are flattened for the polygon library, mm.
const flatStep = 0.05

// flat flattens a chain of segments into a line.
func flat(segs []geom.Segment, closed bool) []float64 {
	var out []float64
	for _, s := range segs {
		n := 1
		if s.IsArc() {
			n = 1 + int(s.Length()/flatStep)
		}
		for i := range n {
			p := s.At(float64(i) / float64(n))
			out = append(out, p.X, p.Y)
		}
	}
	if last := segs[len(segs)-1].To; !closed {
		return append(out, last.X, last.Y)
	}
	return append(out, out[0], out[1])
}

func lineOf(t *testing.T, xy []float64) sf.LineString {
	l := sf.NewLineString(sf.NewSequence(xy, sf.DimXY))
	return l
}

// TestPolygonLibraryAgreesWithWhatIsCut sweeps the kerf along every cut with a
// polygon library (GEOS), takes it from the sheet, and compares what is left with
// the nominal parts: a second opinion on the as-cut proof, with none of our own
// geometry but the flattening of arcs. It looks at toolpaths: no file is written, which
// TestEveryJobIsProved does for the same jobs.
func TestPolygonLibraryAgreesWithWhatIsCut(t *testing.T) {
	for _, file := range append([]string{""}, jobFiles(t)...) {
		l, err := loadJob(file)
		require.NoError(t, err)
		if p, _, err := l.Sheet(); err != nil || p.Process != machine.Laser {
			continue
		}
		t.Run(cmp.Or(filepath.Base(file), "demo"), func(t *testing.T) {
			t.Parallel()
			cutAsPolygons(t, file, l)
		})
	}
}

// cutAsPolygons compares one job.
func cutAsPolygons(t *testing.T, file string, l *Order) {
	opt, st := outputOptions, usual()
	st.finish = func(r *run, _ context.Context, _ []Output) (Made, error) { return r.made, nil }
	opt.stages = &st
	b, err := l.Build(context.Background(), opt)
	require.NoError(t, err)
	require.NotEmpty(t, b.Set.Sheets)
	kerf := b.Set.Material.Kerf
	for _, s := range b.Set.Sheets {
		var swept []sf.Geometry
		for _, o := range s.Path.Ops {
			if o.Layer != path.Opening && o.Layer != path.Outline {
				continue
			}
			var segs []geom.Segment
			for _, m := range o.Moves {
				if m.From != m.To {
					segs = append(segs, m.Segment)
				}
			}
			g, err := geos.Buffer(lineOf(t, flat(segs, false)).AsGeometry(), kerf/2, geos.BufferQuadSegments(16))
			require.NoError(t, err)
			swept = append(swept, g)
		}
		for _, pl := range s.Placed {
			part, ok := b.Set.Part(pl.ID)
			require.True(t, ok)
			rings := []sf.LineString{lineOf(t, flat(part.Outline.Scaled(part.Scale).Transform(pl.On).Segments(), true))}
			around := part.Outline.Length()
			for _, o := range part.Openings {
				c := o.Contour()
				around += c.Length()
				rings = append(rings, lineOf(t, flat(c.Scaled(part.Scale).Transform(pl.On).Segments(), true)))
			}
			want := sf.NewPolygon(rings).AsGeometry()
			outer, err := geos.Buffer(want, kerf-0.004, geos.BufferQuadSegments(16))
			require.NoError(t, err)
			// What is swept beyond the part and its surroundings takes nothing from either.
			here := slices.DeleteFunc(slices.Clone(swept), func(g sf.Geometry) bool { return !g.Envelope().Intersects(outer.Envelope()) })
			cut, err := geos.UnaryUnion(sf.NewGeometryCollection(here).AsGeometry())
			require.NoError(t, err)
			bitten, err := geos.Intersection(want, cut)
			require.NoError(t, err)
			// The bite may be 0.002 mm deep all round; flattening adds far less.
			assert.LessOrEqual(t, bitten.Area(), around*0.002, "%s sheet %d %s: bite", file, s.N, pl.ID)
			// What is left standing: a kerf's width round the part, less the cut.
			band, err := geos.Difference(outer, want)
			require.NoError(t, err)
			standing, err := geos.Difference(band, cut)
			require.NoError(t, err)
			assert.LessOrEqual(t, standing.Area(), around*0.004, "%s sheet %d %s: standing", file, s.N, pl.ID)
			if math.IsNaN(bitten.Area() + standing.Area()) {
				t.Fatal("the library gave no area")
			}
		}
	}
}
