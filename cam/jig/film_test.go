package jig_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
)

// filmJob is tableJob for the knife, in polyester film of 0.35 mm.
func filmJob(t testing.TB, l, w, bedW, bedH float64, games ...string) jig.Request {
	r := tableJob(t, l, w, bedW, bedH, games...)
	r.Machine.Process, r.Machine.HasZ = machine.Knife, true
	r.Machine.Knife = machine.KnifeProfile{Offset: 0.45, WedgeDeg: 45, ZUp: 2, ZSkin: -0.05, Plunge: 5, Lift: 10, Swivel: 5,
		SwivelDeg: 30, ArcMin: 0.9, ArcTight: "corner", Misalign: 1, SheetMax: 1, ZFloor: -1.3}
	r.Material = machine.Material{Kind: "polyester film", Thickness: 0.35, Density: 1390, Modulus: 4.5e9, Expansion: 17e-6, Moisture: 6e-6,
		Sheets: []machine.Stock{{Width: bedW, Height: bedH}},
		Cut:    machine.Setting{Feed: 20, Passes: 1, Depth: -0.45},
		Score:  machine.Setting{Feed: 20, Passes: 1, Depth: -0.15},
		Letter: machine.Setting{Feed: 20, Passes: 1, Depth: -0.1}}
	return r
}

// cardJob is the same in card of 1 mm.
func cardJob(t testing.TB, l, w, bedW, bedH float64, games ...string) jig.Request {
	r := filmJob(t, l, w, bedW, bedH, games...)
	r.Material.Kind, r.Material.Thickness, r.Material.Density, r.Material.Modulus = "card", 1, 700, 3e9
	r.Material.Cut.Depth, r.Material.Score.Depth = -1.1, -0.5
	return r
}

func TestFilmDraws(t *testing.T) {
	dir := os.Getenv("SPOTJIG_DRAW")
	for _, c := range []struct {
		name string
		req  jig.Request
	}{
		{"film-600x300", filmJob(t, 2540, 1270, 600, 300, "pool", "snooker")},
		{"film-1200x600", filmJob(t, 2540, 1270, 1200, 600, "pool", "snooker")},
		{"card-600x300", cardJob(t, 1981.2, 990.6, 600, 300, "pool")},
	} {
		t.Run(c.name, func(t *testing.T) {
			j, err := jig.Design(c.req)
			require.NoError(t, err)
			for _, k := range j.Checks {
				t.Logf("%-5s %-22s %8.3f %8.3f %s %s", k.Verdict, k.ID, k.Value, k.Limit, k.Unit, k.Text)
			}
			t.Logf("%d parts, %d joints", len(j.Parts), len(j.Joints))
			if dir != "" {
				require.NoError(t, os.WriteFile(dir+"/"+c.name+".svg", []byte(drawing(c.req, j)), 0o644))
			}
		})
	}
}
