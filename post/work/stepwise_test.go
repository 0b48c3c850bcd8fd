package work

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"math/rand"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/machine"
	"spotjig/cam/path"
	"spotjig/post"
	"spotjig/post/dryrun"
	"spotjig/post/rs274/read"
)

// How long does the machine take, step by step?
//
// The dry run works times out block by block, in closed form. Here a program is driven
// instead: a head that knows the next moves, and every tenth of a millisecond speeds up
// as fast as it may and still brake for everything it knows of. It shares the reader with
// the dry run, and the rules: speed changes by no more than the acceleration, the corner's
// circle passes the corner at the distance machine.junction, an arc's speed is what its
// radius and the acceleration allow, and the head stands still where beam or spindle
// change, at a dwell, and at the end of what it knows. The rest is its own.

const (
	tick    = 1e-4 // s
	horizon = 1024 // moves the head knows of
)

// ride is one move as the head rides it.
type ride struct {
	length, top, accel float64 // mm, mm/s, mm/s²
	in, out            [3]float64
	halt               bool // the head stands still before it
	lap                int
	corner             float64 // squared speed at its start
}

// rider gathers the moves of a program.
type rider struct {
	m     machine.Profile
	at    read.Point
	rides []ride
	halt  bool
	waits []ride // dwells: their length is seconds
	lap   int
	works bool
	laser bool
}

func (r *rider) Fork() (read.Sink, error) { return &rider{}, nil }

func (r *rider) Take(b *read.Batch) error {
	for _, e := range b.Events {
		burns := e.Turn != read.Off && e.S > 0
		if moves := e.Kind == read.Rapid || e.Kind == read.Line || e.Kind == read.Arc; moves && !r.laser {
			burns = e.Kind != read.Rapid
		} else if !r.laser {
			burns = r.works
		}
		if burns != r.works {
			r.works = burns
			r.lap++
		}
		switch e.Kind {
		case read.Spin, read.Pause:
			r.halt = true
		case read.Dwell:
			r.halt = true
			r.waits = append(r.waits, ride{length: e.Feed, lap: r.lap})
		case read.Rapid:
			r.straight(e.To, float64(r.m.RapidMax), r.m.AccelRap)
		case read.Line:
			r.straight(e.To, math.Min(e.Feed, float64(r.m.FeedMax)), r.m.AccelCut)
		case read.Arc:
			r.round(b.Arcs[e.Extra], e.Feed)
		}
	}
	return nil
}

func (r *rider) straight(to read.Point, top, accel float64) {
	var d [3]float64
	n := 0.0
	for i := range d {
		d[i] = to[i] - r.at[i]
		n = math.Hypot(n, d[i])
	}
	r.at = to
	if n == 0 {
		return
	}
	for i := range d {
		d[i] /= n
	}
	r.add(ride{length: n, top: top, accel: accel, in: d, out: d})
}

// round rides an arc of the plane X Y; its directions are taken from two chords of a
// millionth of it.
func (r *rider) round(c read.Curve, feed float64) {
	chord := func(a, b read.Point) (d [3]float64) {
		n := math.Hypot(math.Hypot(b[0]-a[0], b[1]-a[1]), b[2]-a[2])
		for i := range d {
			d[i] = (b[i] - a[i]) / n
		}
		return d
	}
	top := math.Min(math.Min(feed, float64(r.m.FeedMax)), math.Sqrt(r.m.AccelCut*c.Radius))
	r.at = c.To
	r.add(ride{length: c.Length(), top: top, accel: r.m.AccelCut, in: chord(c.At(0), c.At(1e-6)), out: chord(c.At(1-1e-6), c.At(1))})
}

func (r *rider) add(m ride) {
	m.halt, m.lap = r.halt, r.lap
	if n := len(r.rides); n > 0 && !r.halt {
		m.corner = r.bend(r.rides[n-1], m)
	}
	r.halt = false
	r.rides = append(r.rides, m)
}

// bend is the squared speed through the corner between two moves.
func (r *rider) bend(a, b ride) float64 {
	cos := 0.0
	for i := range a.out {
		cos += a.out[i] * b.in[i]
	}
	half := math.Acos(max(-1, min(1, cos))) / 2
	radius := r.m.Junction / (1/math.Cos(half) - 1)
	top := math.Min(a.top, b.top)
	return math.Min(top*top, math.Min(a.accel, b.accel)*radius)
}

// drive lets the head run over all moves, and returns the time of every lap.
func (r *rider) drive() []float64 {
	out := make([]float64, r.lap+1)
	for _, w := range r.waits {
		out[w.lap] += w.length
	}
	v := 0.0
	for i := range r.rides {
		m := &r.rides[i]
		ahead := r.known(i)
		left := m.length
		for left > 0 {
			// At top speed, with more left than the head brakes in, all steps are alike: they
			// are taken at once, but for the last.
			if far := (m.top*m.top + 2*m.accel*tick*m.top - ahead) / (2 * m.accel); v == m.top && left > far {
				if n := math.Floor((left-math.Max(0, far))/(v*tick)) - 1; n > 0 {
					left -= n * v * tick
					out[m.lap] += n * tick
				}
			}
			room := math.Min(ahead+2*m.accel*left, m.top*m.top) // the squared speed that can still be braked
			w := math.Min(v+m.accel*tick, m.top)
			// The step ends (v+w)/2·tick further on, where less is left to brake in.
			if k := m.accel * tick; w*w+k*(v+w) > ahead+2*m.accel*left {
				w = (math.Sqrt(math.Max(0, k*k-4*(k*v-ahead-2*m.accel*left))) - k) / 2
			}
			w = math.Max(0, math.Min(w, math.Sqrt(room)))
			way := (v + w) / 2 * tick
			if way < left {
				left -= way
				v = w
				out[m.lap] += tick
				continue
			}
			part := left / way
			out[m.lap] += part * tick
			v += part * (w - v)
			left = 0
		}
	}
	return out
}

// known is the squared speed at the end of move i from which the head can brake for all
// that it knows of.
func (r *rider) known(i int) float64 {
	best, way := math.Inf(1), 0.0
	for k := i + 1; ; k++ {
		if k >= len(r.rides) || k > i+horizon-1 {
			return math.Min(best, way)
		}
		if way >= best {
			return best
		}
		best = math.Min(best, way+r.rides[k].corner)
		way += 2 * r.rides[k].accel * r.rides[k].length
	}
}

// rideProgram drives a program, and has the dry run time it.
func rideProgram(t testing.TB, text []byte, m machine.Profile) (want []float64, got dryrun.Report) {
	r := &rider{m: m, laser: m.Process == machine.Laser && !m.HasSpindle}
	start := m.Offsets[1]
	if m.Park != nil {
		start = *m.Park
	}
	r.at = read.Point{start.X, start.Y, start.Z}
	_, err := read.Run(context.Background(), bytes.NewReader(text), read.Options{Machine: &m}, r)
	require.NoError(t, err)
	got, err = dryrun.Run(context.Background(), bytes.NewReader(text), dryrun.Options{Machine: &m, Laps: true})
	require.NoError(t, err)
	return r.drive(), got
}

// off is how far one time is from another, as a share.
func off(want, got float64) float64 { return math.Abs(got-want) / want }

// lapsAgree holds the dry run's times against those driven: the whole, and every stretch
// of travel and of work. It returns the largest differences, as shares.
func lapsAgree(t testing.TB, name string, want []float64, got dryrun.Report) (whole, lap float64) {
	require.Len(t, got.Laps, len(want), name)
	total := 0.0
	for i, w := range want {
		total += w
		if w > 0 {
			lap = math.Max(lap, off(w, got.Laps[i]))
		} else {
			assert.Zero(t, got.Laps[i], "%s: lap %d", name, i)
		}
	}
	require.Positive(t, total)
	return off(total, got.TimeS), lap
}

// timesWithin is how far the dry run's times may lie from those driven, as a share.
const timesWithin = 0.02

// Every program of the demo and of a card's job, with SPOTJIG_ALL=1 of all jobs: the whole and each operation, and what the
// bill says of each kind of work.
func TestTimesAsDriven(t *testing.T) {
	long(t)
	for _, file := range append([]string{""}, jobFiles(t)...) {
		name := filepath.Base(file)
		few := strings.HasPrefix(name, "knife-card")
		if file != "" && os.Getenv("SPOTJIG_ALL") == "" && !few {
			continue
		}
		b := buildJob(t, file)
		if b.Set.Machine.Process == machine.Shop {
			continue
		}
		var bill post.Spent
		whole, lap, laps := 0.0, 0.0, 0
		for _, f := range b.Files {
			if !strings.HasSuffix(f.Name, ".nc") {
				continue
			}
			want, got := rideProgram(t, f.Data, b.Set.Machine)
			w, l := lapsAgree(t, f.Name, want, got)
			whole, lap, laps = math.Max(whole, w), math.Max(lap, l), laps+len(want)
			var n int
			if _, err := fmt.Sscanf(f.Name, "sheet-%d.nc", &n); err != nil {
				continue
			}
			for i, w := range want {
				switch {
				case i%2 == 0:
					bill.Travel += w
				case b.Set.Sheets[n-1].Path.Ops[i/2].Layer == path.Lettering:
					bill.Letter += w
				case b.Set.Sheets[n-1].Path.Ops[i/2].Layer == path.Score:
					bill.Score += w
				default:
					bill.Cut += w
				}
			}
		}
		assert.Positive(t, laps, name)
		assert.LessOrEqual(t, whole, timesWithin, name)
		assert.LessOrEqual(t, lap, timesWithin, name)
		spent := b.Set.Spent()
		for _, k := range [][2]float64{{bill.Letter, spent.Letter}, {bill.Score, spent.Score}, {bill.Cut, spent.Cut}, {bill.Travel, spent.Travel}} {
			if k[0] > 0 {
				assert.LessOrEqual(t, off(k[0], k[1]), timesWithin, "%s: %v", name, k)
			}
		}
		t.Logf("%s: of %d stretches the furthest is %.3f%% off, of the whole programs %.4f%%; lettering %.1f, scores %.1f, cuts %.1f, travel %.1f s", name, laps, 100*lap, 100*whole, bill.Letter, bill.Score, bill.Cut, bill.Travel)
	}
}

// Random programs on random machines: lines, arcs and rapids, long and short, at feeds above
// and below what the machine does, with dwells and the beam switched on and off; and runs of
// short moves so quick that the head cannot see far enough.
func TestTimesOfRandomPrograms(t *testing.T) {
	whole, lap := 0.0, 0.0
	for seed := range int64(40) {
		if os.Getenv("SPOTJIG_ALL") == "" && seed == 8 { // the others with SPOTJIG_ALL=1
			break
		}
		rnd := rand.New(rand.NewSource(seed))
		m := machine.Profiles()[0]
		m.Process, m.Park = machine.Laser, nil
		m.FeedMax, m.RapidMax = machine.Feed(50+400*rnd.Float64()), machine.Feed(50+600*rnd.Float64())
		m.AccelCut, m.AccelRap = 100+4000*rnd.Float64(), 100+6000*rnd.Float64()
		m.Junction = 0.001 + 0.1*rnd.Float64()
		want, got := rideProgram(t, randomRide(rnd), m)
		w, l := lapsAgree(t, fmt.Sprint("seed ", seed), want, got)
		assert.LessOrEqual(t, w, timesWithin, "seed %d", seed)
		assert.LessOrEqual(t, l, timesWithin, "seed %d", seed)
		whole, lap = math.Max(whole, w), math.Max(lap, l)
	}
	t.Logf("the furthest stretch is %.3f%% off, the furthest whole %.4f%%", 100*lap, 100*whole)
}

func randomRide(rnd *rand.Rand) []byte {
	var b bytes.Buffer
	b.WriteString("G17 G21 G40 G49\nG54 G80 G90 G94\nM5 S0\n")
	x, y := 200.0, 200.0
	step := func(n float64) {
		a := 2 * math.Pi * rnd.Float64()
		x, y = math.Max(0, math.Min(400, x+n*math.Cos(a))), math.Max(0, math.Min(400, y+n*math.Sin(a)))
	}
	for range 60 {
		for range 1 + rnd.Intn(2) {
			step(300 * rnd.Float64() * rnd.Float64())
			fmt.Fprintf(&b, "G0 X%.4f Y%.4f\n", x, y)
		}
		if rnd.Intn(10) == 0 {
			fmt.Fprintf(&b, "G4 P%.3f\n", rnd.Float64())
		}
		fmt.Fprintf(&b, "M4 S300\nF%.0f\n", 600+20000*rnd.Float64())
		size := math.Pow(10, -2+4*rnd.Float64())
		turn, dir := math.Pow(10, -3*rnd.Float64()), 2*math.Pi*rnd.Float64()
		n := 1 + rnd.Intn(40)
		if rnd.Intn(10) == 0 {
			size, turn, n = 0.01, 0.001, 3000
		}
		for range n {
			if rnd.Intn(4) > 0 {
				dir += turn * (rnd.Float64() - 0.3)
				x, y = math.Max(0, math.Min(400, x+size*math.Cos(dir))), math.Max(0, math.Min(400, y+size*math.Sin(dir)))
				fmt.Fprintf(&b, "G1 X%.4f Y%.4f\n", x, y)
				continue
			}
			// Half a circle about the middle of the way to its end.
			fx, fy := x, y
			step(size)
			if x0, y0 := math.Round(fx*1e4)/1e4, math.Round(fy*1e4)/1e4; math.Hypot(x-x0, y-y0) > 0.01 {
				fmt.Fprintf(&b, "G%d X%.4f Y%.4f I%.5f J%.5f\n", 2+rnd.Intn(2), x, y, (x-x0)/2, (y-y0)/2)
			}
		}
		b.WriteString("M5 S0\n")
	}
	b.WriteString("M2\n")
	return b.Bytes()
}
