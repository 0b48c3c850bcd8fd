package testpiece_test

import (
	"cmp"
	"fmt"
	"math"
	"math/rand"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"spotjig/cam/jig/testpiece"
	"spotjig/layout/problem"
)

// The comb's formula k = (L - M)/n is plain geometry: n+1 cuts, each taking half
// a kerf from either neighbour. L 100, n 10, M 98.40 is the usual worked example.
func TestCombKerf(t *testing.T) {
	tests := []struct {
		name         string
		n            int
		l, m, turned float64
		exit, other  float64
	}{
		{"worked example; walls upright: turned or not measures the same", 10, 100, 98.40, 98.40, 0.160, 0.160},
		{"pieces 9.80 at one face and 9.70 at the other: 10 (9.80 + 9.70)/2 + 0.05", 10, 100, 98.00, 97.55, 0.20, 0.30},
		{"an odd number: 5 x 9.80 + 4 x 9.70", 9, 90, 88.20, 87.80, 0.20, 0.30},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.InDelta(t, tt.exit, testpiece.CombKerf(tt.n, tt.l, tt.m), 1e-12)
			assert.InDelta(t, tt.other, testpiece.CombKerfTurned(tt.n, tt.l, tt.m, tt.turned), 1e-9)
		})
	}
}

// atan((0.30 - 0.20)/2/3) = atan(1/60) = 0.9548 degrees, by any table of tangents.
func TestTaper(t *testing.T) {
	assert.InDelta(t, 0.9548, testpiece.TaperDeg(0.30, 0.20, 3), 0.00005)
	assert.InDelta(t, -0.9548, testpiece.TaperDeg(0.20, 0.30, 3), 0.00005)
	assert.Zero(t, testpiece.TaperDeg(0.2, 0.2, 5))
}

// Trapezoids pushed together by sliding, step by step until they touch, with no
// formula of ours: the row's extent between the jaws is what M and T claim.
func TestTurnedCombByPushingPiecesTogether(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 12).Draw(t, "n")
		pitch := rapid.Float64Range(9, 16).Draw(t, "pitch")
		exit := rapid.Float64Range(0.05, 0.3).Draw(t, "exit")
		beam := exit + rapid.Float64Range(0, 0.2).Draw(t, "more")
		l := pitch * float64(n)
		m, turned := pushed(n, pitch-exit, pitch-beam, false), pushed(n, pitch-exit, pitch-beam, true)
		assert.InDelta(t, exit, testpiece.CombKerf(n, l, m), 1e-9)
		assert.InDelta(t, beam, testpiece.CombKerfTurned(n, l, m, turned), 1e-9)
	})
}

// pushed slides n pieces, low wide at the bottom face and high at the top, against
// each other and returns the extent over all. Walls are straight, so that two
// touch at the top or at the bottom first.
func pushed(n int, low, high float64, turn bool) float64 {
	type piece struct{ bottomL, bottomR, topL, topR float64 }
	at := func(i int) piece {
		lo, hi := low, high
		if turn && i%2 == 1 {
			lo, hi = hi, lo
		}
		return piece{-lo / 2, lo / 2, -hi / 2, hi / 2}
	}
	x := 0.0
	least, most := math.Inf(1), math.Inf(-1)
	for i := 0; i < n; i++ {
		p := at(i)
		if i > 0 {
			before := at(i - 1)
			x += math.Max(before.bottomR-p.bottomL, before.topR-p.topL)
		}
		least = math.Min(least, x+math.Min(p.bottomL, p.topL))
		most = math.Max(most, x+math.Max(p.bottomR, p.topR))
	}
	return most - least
}

// Corners of a sheared rectangle, distances by Pythagoras.
func TestSkewOfAShearedRectangle(t *testing.T) {
	for _, micron := range []float64{-2000, -150, 0, 80, 1000} {
		g := micron * 1e-6
		a, b := 572.0, 362.0
		cx, cy := a+b*math.Sin(g), b*math.Cos(g)
		dx, dy := b*math.Sin(g), b*math.Cos(g)
		up, down := math.Hypot(cx, cy), math.Hypot(a-dx, dy)
		assert.InDelta(t, micron, testpiece.SkewMicrons(a, b, up, down), 1e-6)
	}
}

// JCGM 100:2008 (GUM) 4.4.3, table 1: twenty temperatures with mean 100.145,
// standard deviation 1.489 and 0.333 for the mean. Our factor for few readings is at
// its floor, 2.23/2, from ten degrees of freedom on.
func TestMeanOfTheGuidesReadings(t *testing.T) {
	v := []float64{96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
		100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72}
	mean, u := testpiece.Gauge{}.Mean(v, 0)
	assert.InDelta(t, 100.145, mean, 0.0005)
	assert.InDelta(t, 0.333, u/(2.23/2), 0.0005)
}

// JCGM 100:2008: a resolution of dx contributes 0.29 dx (F.2.2.1), limits of
// plus or minus a, all equally likely, a/sqrt 3 (4.3.7).
func TestMeanOfOneReading(t *testing.T) {
	_, u := testpiece.Gauge{Step: 1}.Mean([]float64{5}, 0)
	assert.InDelta(t, 0.29, u, 0.0015)
	_, u = testpiece.Gauge{PM: 1}.Mean([]float64{5}, 0)
	assert.InDelta(t, 0.5774, u, 0.0001)
	_, u = testpiece.Gauge{}.Mean([]float64{5}, 1)
	assert.InDelta(t, 0.5774, u, 0.0001)
}

// cutForm is the form of a test piece like those the coupon writes.
func cutForm() testpiece.Cut {
	return testpiece.Cut{Thickness: 4.85, Kerf: 0.18, Pieces: 10, Comb: 130, Square: 100, Flank: 0.08,
		Slots: []float64{4.75, 4.8, 4.85, 4.9, 4.95, 5, 5.05, 5.1, 5.15}, Flanks: []float64{0, 0.05, 0.1, 0.15},
		ScaleX: 572, ScaleY: 362, Fits: []testpiece.Fit{{"press", 0.05}, {"slide", 0.1}, {"loose", 0.2}}}
}

// form is the form as written, with lines filled in by key.
func form(t testing.TB, fill map[string]string) string {
	t.Helper()
	var b strings.Builder
	require.NoError(t, testpiece.WriteForm(&b, cutForm(), testpiece.FormOptions{Job: "Hall", Material: "cast acrylic", Version: "0"}))
	text := b.String()
	for key, v := range fill {
		in := ""
		if strings.Contains("a_b d_c a_d b_c a_c b_d", key) {
			in = "  "
		}
		re := regexp.MustCompile(`(?m)^(` + in + `)` + key + `:.*$`)
		require.Regexp(t, re, text, "the form has no %s", key)
		text = re.ReplaceAllString(text, "${1}"+key+": "+v)
	}
	return text
}

// Every key of the form that a person fills in is found when it is missing, and when it holds
// something before anybody measured, which would pass for a reading.
func TestFormWantsEveryKeyAndHoldsNoReading(t *testing.T) {
	text := form(t, nil)
	r, err := testpiece.ReadForm("reading.txt", []byte(text))
	require.NoError(t, err)
	assert.Empty(t, r.Unoffered())
	assert.Empty(t, r.Answered())
	answers := map[string]string{"by": "Ann", "date": "2026-11-20", "kerf_wider_at": "exit", "socket": "1", "slot_press": "A", "slot_slide": "A", "slot_loose": "A",
		"caliper": "{step: 0.02, pm: 0.02}", "rule": "{step: 0.5, pm: 0.1}"}
	_, blank, _ := strings.Cut(text, "\nby:")
	keys := regexp.MustCompile(`(?m)^( *)(\w+):(.*)$`).FindAllStringSubmatch("by:"+blank, -1)
	cut := false
	n := 0
	for _, k := range keys {
		line, in, key := k[0], k[1], k[2]
		if in == "" {
			cut = key == "cut"
		}
		if cut || key == "ticks" {
			continue
		}
		n++
		path := key
		if in != "" {
			path = "ticks." + key
		}
		r, err := testpiece.ReadForm("reading.txt", []byte(strings.Replace(text, line+"\n", "", 1)))
		require.NoError(t, err, line)
		assert.Contains(t, r.Unoffered(), path, line)
		answer := cmp.Or(answers[key], "[0.5]")
		if strings.Contains(key, "comb") || strings.Contains(key, "square") || in != "" {
			answer = "[100]"
		}
		r, err = testpiece.ReadForm("reading.txt", []byte(strings.Replace(text, line+"\n", in+key+": "+answer+"\n", 1)))
		require.NoError(t, err, line)
		assert.Equal(t, []string{path}, r.Answered(), line)
	}
	assert.Equal(t, 25, n)
	r, err = testpiece.ReadForm("reading.txt", []byte(strings.Replace(text, ", pm: 0.02}", "}", 1)))
	require.NoError(t, err)
	assert.Equal(t, []string{"caliper.pm"}, r.Unoffered())
}

// What the form says was cut comes back as it was; unfilled it is sound, but
// tells nothing.
func TestFormReadsBack(t *testing.T) {
	r, err := testpiece.ReadForm("reading.txt", []byte(form(t, nil)))
	require.NoError(t, err)
	assert.Equal(t, cutForm(), r.Cut)
	_, _, err = r.Work()
	require.Len(t, problem.From(err), 1)
	assert.Equal(t, "M032", problem.From(err)[0].Code)

	var hostile strings.Builder
	require.NoError(t, testpiece.WriteForm(&hostile, cutForm(), testpiece.FormOptions{Job: "x\nkerf_wider_at: exit\r\u0085y", Material: "a\nb", Version: "0"}))
	r, err = testpiece.ReadForm("reading.txt", []byte(hostile.String()))
	require.NoError(t, err, "a name cannot add a key to the form")
	assert.False(t, r.WiderAtExit)
}

// full is a form filled in for a beam of 0.21 mm at the exit, 0.27 at the entry, in
// 4.80 mm sheet, on a machine 1000 ppm large in x, true in y and 1 mm/m out of square. All
// readings are worked out here from that, exactly.
func full(t testing.TB) map[string]string {
	t.Helper()
	const exit, beam, sx = 0.21, 0.27, 1.001
	we := [2]float64{13*sx - exit, 13 - exit}
	wb := [2]float64{13*sx - beam, 13 - beam}
	three := func(v float64) string { return fmt.Sprintf("[%.5f, %.5f, %.5f]", v-0.005, v, v+0.005) }
	a, b, g := 572*sx, 362.0, 0.001
	return map[string]string{
		"thickness": "[4.80, 4.79, 4.81]",
		"comb_x":    three(10 * we[0]), "comb_y": three(10 * we[1]),
		"comb_x_turned": three(5.5*we[0] + 4.5*wb[0]), "comb_y_turned": three(5.5*we[1] + 4.5*wb[1]),
		"square_x": three(100*sx + 0.18 - exit), "square_y": three(100 + 0.18 - exit),
		"slot_press": "C", "slot_slide": "d", "slot_loose": "F", "socket": "2",
		"a_b": three(a), "d_c": three(a), "a_d": three(b), "b_c": three(b),
		"a_c": three(math.Hypot(a+b*math.Sin(g), b*math.Cos(g))), "b_d": three(math.Hypot(a-b*math.Sin(g), b*math.Cos(g))),
		"rule": "{step: 0.02, pm: 0.02}",
	}
}

func TestReadingsTellWhatWasCut(t *testing.T) {
	r, err := testpiece.ReadForm("r.txt", []byte(form(t, full(t))))
	require.NoError(t, err)
	c, notes, err := r.Work()
	require.NoError(t, err)
	assert.Empty(t, notes)
	assert.InDelta(t, 0.21, c.Kerf.Value, 1e-5)
	assert.InDelta(t, 0.27, c.Beam.Value, 1e-5)
	assert.InDelta(t, math.Atan(0.03/4.8)*180/math.Pi, c.TaperDeg.Value, 1e-4)
	assert.InDelta(t, 1000, c.ScaleX.Value, 0.1)
	assert.InDelta(t, 0, c.ScaleY.Value, 0.1)
	assert.InDelta(t, 1000, c.Skew.Value, 0.1)
	// By hand: readings 5 um apart three times: s 0.005, t 4.30, so 0.0062 for
	// scatter; 0.01/sqrt 12 and 0.02/sqrt 3 for the caliper: 0.01344. Over ten pieces,
	// doubled: 0.0027; the scale of the machine adds a few microns.
	assert.InDelta(t, 0.0027, c.Kerf.PM, 0.0015)
	assert.Less(t, c.Kerf.PM, c.Beam.PM, "the other face is told less well")

	// Slots came out wider by 0.03, what the kerf is more than allowed for.
	require.Len(t, c.Slots, 3)
	assert.InDelta(t, 4.85+0.03, c.Slots[0].Width, 1e-5)
	assert.InDelta(t, 0.08, c.Slots[0].Clearance, 1e-5)
	assert.Equal(t, "slide", c.Slots[0].Nearest.Name, "0.08 is nearer to 0.10 than to 0.05")
	assert.InDelta(t, 0.13, c.Slots[1].Clearance, 1e-5)
	assert.InDelta(t, 0.23, c.Slots[2].Clearance, 1e-5)
	assert.InDelta(t, 0.05+0.03, c.Flank, 1e-5)

	var out strings.Builder
	require.NoError(t, c.Write(&out))
	for _, line := range []string{"  kerf: 0.210 mm", "  kerf_pm: 0.00", "  thickness: 4.80 mm", "  fit: slide ", "  scale_ppm: {x: 10", ", y: 0}", "  skew: 1"} {
		assert.Contains(t, out.String(), line)
	}
	assert.NotContains(t, out.String(), "-0 ")
}

// A beam that is wider where it leaves: the pieces are then widest at the beam
// face, so that all one way up they tell the kerf there.
func TestReadingsOfABeamWiderAtTheExit(t *testing.T) {
	fill := map[string]string{"comb_x": "[128.20, 128.20, 128.20]", "comb_y": "[128.20, 128.20, 128.20]", "kerf_wider_at": "exit",
		"comb_x_turned": "[127.975, 127.975, 127.975]", "comb_y_turned": "[127.975, 127.975, 127.975]"}
	r, err := testpiece.ReadForm("r.txt", []byte(form(t, fill)))
	require.NoError(t, err)
	c, _, err := r.Work()
	require.NoError(t, err)
	assert.InDelta(t, 0.18, c.Beam.Value, 1e-6)
	assert.InDelta(t, 0.23, c.Kerf.Value, 1e-6, "5.5 x 12.82 + 4.5 x 12.77 = 127.975")
	assert.Less(t, c.TaperDeg.Value, 0.0)

	fill["comb_x_turned"], fill["comb_y_turned"] = "[]", "[]"
	r, err = testpiece.ReadForm("r.txt", []byte(form(t, fill)))
	require.NoError(t, err)
	_, _, err = r.Work()
	require.NotEmpty(t, problem.From(err))
	assert.Equal(t, "M032", problem.From(err)[0].Code)
}

// Monte Carlo: what a caliper of 0.01 mm, off by up to 0.02, held by hands that
// scatter by 0.008 (one sigma) reads of a known comb. The stated interval must
// hold the truth 95 times in 100, or more often; it must not be so wide as to say nothing.
func TestUncertaintyHoldsTheTruth(t *testing.T) {
	rng := rand.New(rand.NewSource(5)) // seed 5
	const rounds = 2000
	held, width := [2]int{}, 0.0
	for range rounds {
		exit := 0.1 + 0.2*rng.Float64()
		beam := exit + 0.1*rng.Float64()
		scale := (2*rng.Float64() - 1) * 100e-6
		off := (2*rng.Float64() - 1) * 0.02
		read := func(v float64) []float64 {
			var out []float64
			for range 3 {
				out = append(out, math.Round((v+off+0.008*rng.NormFloat64())*100)/100)
			}
			return out
		}
		r, err := testpiece.ReadForm("r.txt", []byte(mcForm))
		require.NoError(t, err)
		we, wb := 13*(1+scale)-exit, 13*(1+scale)-beam
		for axis := range 2 {
			r.Comb[axis], r.Turned[axis] = read(10*we), read(5.5*we+4.5*wb)
		}
		c, _, err := r.Work()
		require.NoError(t, err)
		if math.Abs(c.Kerf.Value-exit) <= c.Kerf.PM {
			held[0]++
		}
		if math.Abs(c.Beam.Value-beam) <= c.Beam.PM {
			held[1]++
		}
		width += c.Kerf.PM / rounds
	}
	assert.GreaterOrEqual(t, held[0], rounds*95/100)
	assert.GreaterOrEqual(t, held[1], rounds*95/100)
	assert.Less(t, width, 0.012, "ten pieces and a caliper tell a kerf to a hundredth")
}

const mcForm = "cut: {thickness: 5, kerf: 0.18, pieces: 10, comb: 130}\ncomb_x: 128\n"

// Every fault of readings has its code, is told where it stands and how to mend it.
func TestBadReadings(t *testing.T) {
	good := full(t)
	tests := []struct {
		name, key, value, code, where string
	}{
		{"a comb longer than its lines", "comb_x", "[130.2, 130.2]", "M030", "comb_x"},
		{"a comb with a piece missing", "comb_y", "[115.3, 115.3]", "M030", "comb_y"},
		{"not a number", "comb_x", "[12B.2]", "L00", "comb_x[0]"},
		{"a decimal comma", "comb_x", "128,2", "L005", "comb_x"},
		{"a negative reading", "square_x", "[-100]", "M030", "square_x[0]"},
		{"nothing read", "square_x", "[0]", "M030", "square_x[0]"},
		{"a list in a list", "comb_x", "[[128.2]]", "J002", "comb_x"},
		{"readings of two sizes", "square_y", "[99.97, 100.21]", "M031", "square_y"},
		{"turned over longer", "comb_x_turned", "[128.5, 128.5, 128.5]", "M033", "comb_x_turned"},
		{"turned over far too short", "comb_y_turned", "[121, 121]", "M033", "comb_y_turned"},
		{"a side missing", "a_b", "[]", "M034", "ticks"},
		{"one diagonal", "b_d", "[]", "M034", "ticks"},
		{"a tick misread by a centimetre", "a_d", "[352]", "M034", "ticks.a_d"},
		{"six distances that no four points have", "d_c", "[574.1]", "M034", "ticks"},
		{"fits out of order", "slot_slide", "A", "M037", "slot_slide"},
		{"a slot that is not there", "slot_slide", "Q", "J008", "slot_slide"},
		{"a socket that is not there", "socket", "7", "J006", "socket"},
		{"an unknown key", "by", "x\ncomb_z: 3", "J001", "comb_z"},
		{"more than ten repeats", "comb_x", "[1,2,3,4,5,6,7,8,9,10,11]", "J011", "comb_x"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			fill := map[string]string{}
			for k, v := range good {
				fill[k] = v
			}
			fill[tt.key] = tt.value
			list := workFaults(form(t, fill))
			require.NotEmpty(t, list)
			p := list[0]
			assert.True(t, strings.HasPrefix(p.Code, tt.code), "%s, want %s: %v", p.Code, tt.code, p)
			assert.Equal(t, tt.where, p.Field)
			assert.Equal(t, "r.txt", p.File)
			assert.Positive(t, p.Line)
			assert.NotEmpty(t, p.Help)
		})
	}
	require.Empty(t, workFaults(form(t, good)))
	for _, text := range []string{"by: nobody\n", "comb_x: 128.2\n"} {
		list := workFaults(text)
		require.NotEmpty(t, list, "a form without what was cut")
		assert.Equal(t, "J003", list[0].Code)
	}
	list := workFaults("cut: {thickness: 5, kerf: 0.18, pieces: 10, comb: 130}\ncomb_x_turned: 128\n")
	require.NotEmpty(t, list)
	assert.Contains(t, list.Error(), "[M032]")
}

// workFaults reads and works out a form, and returns what is wrong with it.
func workFaults(text string) problem.List {
	r, err := testpiece.ReadForm("r.txt", []byte(text))
	if err == nil {
		_, _, err = r.Work()
	}
	return problem.From(err)
}

// At the limits of a kerf, 0.01 and 1 mm, and one step past each.
func TestKerfLimits(t *testing.T) {
	for _, row := range []struct {
		m  string
		ok bool
	}{{"129.90", true}, {"129.91", false}, {"120.00", true}, {"119.99", false}} {
		list := workFaults("cut: {thickness: 5, kerf: 0.18, pieces: 10, comb: 130}\ncomb_x: [" + row.m + ", " + row.m + ", " + row.m + "]\n")
		assert.Equal(t, row.ok, len(list) == 0, "%s: %v", row.m, list)
	}
}

// Notes do not stop anything, and each is told where it stands.
func TestReadingsNotes(t *testing.T) {
	tests := []struct{ name, key, value, code, where string }{
		{"one comb only", "comb_y", "[]", "M035", "comb_x"},
		{"one reading only", "comb_x", "[128.03]", "M036", "comb_x"},
		{"a square that is not as large as it should be", "square_y", "[99.80, 99.80, 99.80]", "M038", "square_y"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			fill := full(t)
			fill[tt.key] = tt.value
			if tt.key == "comb_y" {
				fill["comb_y_turned"] = "[]"
			}
			r, err := testpiece.ReadForm("r.txt", []byte(form(t, fill)))
			require.NoError(t, err)
			_, notes, err := r.Work()
			require.NoError(t, err)
			require.Len(t, notes, 1)
			assert.Equal(t, tt.code, notes[0].Code)
			assert.Equal(t, tt.where, notes[0].Field)
			assert.NotEmpty(t, notes[0].Help)
		})
	}
}

// A value that its reading cannot tell from 0 is not written into the job: the
// budget's own allowance stands. One that it can is written with its uncertainty.
func TestScaleThatIsNotToldFromNothing(t *testing.T) {
	fill := full(t)
	fill["rule"] = "{step: 1, pm: 0.5}"
	r, err := testpiece.ReadForm("r.txt", []byte(form(t, fill)))
	require.NoError(t, err)
	c, _, err := r.Work()
	require.NoError(t, err)
	var out strings.Builder
	require.NoError(t, c.Write(&out))
	assert.Contains(t, out.String(), "not told from 0")
	assert.NotContains(t, out.String(), "scale_ppm")
	assert.Greater(t, c.ScaleX.PM, 1000.0, "0.65 mm on 572")
}

// The files of testdata/coupons, filled-in forms of invented shops, are sound.
func TestFilledForms(t *testing.T) {
	files, err := filepath.Glob("../../../testdata/coupons/*.txt")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, f := range files {
		data, err := os.ReadFile(f)
		require.NoError(t, err)
		assert.Empty(t, workFaults(string(data)), f)
	}
}

// Any bytes are read without a panic, and what is worked out is finite.
func FuzzReadCoupon(f *testing.F) {
	f.Add(form(f, full(f)))
	f.Add(form(f, nil))
	f.Add("cut: {thickness: 5, kerf: 0.18, pieces: 2, comb: 3}\ncomb_x: [2.5]\ncomb_x_turned: [2.4]\n")
	f.Fuzz(func(t *testing.T, text string) {
		r, err := testpiece.ReadForm("r.txt", []byte(text))
		if err != nil {
			return
		}
		c, _, err := r.Work()
		if err != nil {
			return
		}
		for _, e := range []testpiece.Estimate{c.Kerf, c.Beam, c.TaperDeg, c.ScaleX, c.ScaleY, c.Skew} {
			if math.IsNaN(e.Value+e.PM) || math.IsInf(e.Value+e.PM, 0) {
				t.Errorf("not finite: %+v", e)
			}
		}
	})
}

func BenchmarkKerf(b *testing.B) {
	text := []byte(form(b, full(b)))
	for b.Loop() {
		r, err := testpiece.ReadForm("r.txt", text)
		if err != nil {
			b.Fatal(err)
		}
		if _, _, err := r.Work(); err != nil {
			b.Fatal(err)
		}
	}
}
