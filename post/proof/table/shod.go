package table

import (
	"fmt"
	"math"
	"slices"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
	"spotjig/post"
	"spotjig/post/proof"
)

// Leaves and shoes as the job sheet tells of them, mm.
const (
	leaf        = 0.5
	leavesMost  = 6
	shoeOver    = 5.0 // a shoe reaches at least so far below the lowest nose, and above the highest
	tongueLeast = 0.5 // the tongue is at least so far in the shoe when all leaves are behind it
	slotOver    = 0.3 // a shoe's slot is wider than the sheet is thick by no more than this
)

// AsShod puts each shoe and its end fin where they go on the table (id as-shod): the shoe
// stands across the fin, its front in the nose's plane, its slot over the fin and riding on
// the fin's tongue; a straight upright seat of the fin, as high as noses are, lies behind it
// with room for half of the leaves; and with every number of leaves shoe and fin are in each
// other's way nowhere, the tongue is in the slot, and nothing of the fin stands before the shoe.
func AsShod(set post.Set) jig.Check {
	c := jig.Check{ID: "as-shod", Verdict: jig.Pass, Limit: markTol, Unit: "mm", Text: "no fin stands on a shoe"}
	var shoes, fins []jig.Part
	for _, p := range set.Jig.Parts {
		switch p.Role {
		case jig.NoseShoe:
			shoes = append(shoes, p)
		case jig.EndFin:
			fins = append(fins, p)
		}
	}
	if len(shoes) == 0 && len(set.Jig.Settings) == 0 {
		return c
	}
	worn := map[string]bool{}
	for _, f := range fins {
		i := slices.IndexFunc(shoes, func(p jig.Part) bool { return p.ID == f.Shoe })
		if i < 0 {
			return proof.Failed(c, f.ID+" has no shoe "+f.Shoe)
		}
		worn[f.Shoe] = true
		s := shodFin{set: set, fin: f, shoe: shoes[i]}
		s.look()
		c.Value = math.Max(c.Value, s.worst)
		if s.fault != "" {
			return proof.Failed(c, f.ID+" and "+f.Shoe+": "+s.fault)
		}
	}
	for _, p := range shoes {
		if !worn[p.ID] {
			return proof.Failed(c, p.ID+" stands before no fin")
		}
	}
	c.Text = fmt.Sprintf("%d shoes stand before their fins, with 0 to %d leaves behind them", len(shoes), leavesMost)
	return c
}

// shodFin is an end fin with its shoe: x from the fin's own origin backwards, z above the cloth.
type shodFin struct {
	set       post.Set
	fin, shoe jig.Part
	worst     float64
	fault     string
}

// off notes how far something is off; more than markTol is a fault.
func (s *shodFin) off(by float64, what string) {
	s.worst = math.Max(s.worst, math.Abs(by))
	s.need(math.Abs(by) <= markTol, "%s: %.4f mm off", what, by)
}

func (s *shodFin) need(ok bool, form string, a ...any) {
	if !ok && s.fault == "" {
		s.fault = fmt.Sprintf(form, a...)
	}
}

// uprights are the x of a part's straight upright edges, with the heights they span.
func uprights(p jig.Part) (out []struct{ x, low, high float64 }) {
	for _, k := range proof.ChainOf(p.Outline) {
		if !k.Arc && math.Abs(k.A.X-k.B.X) <= markTol && k.Length() > lipLeast {
			z := p.OnTable.Z
			out = append(out, struct{ x, low, high float64 }{k.A.X, z + math.Min(k.A.Y, k.B.Y), z + math.Max(k.A.Y, k.B.Y)})
		}
	}
	return out
}

// noses are the heights of nose that a set must serve: as measured within 1 mm, else 62.5 to
// 64.5 % of the ball (WPA) and carom's 36 to 38 mm (World Rules of Carom Billiard).
func noses(set post.Set) (low, high float64) {
	if h := set.Table.NoseHeight; h > 0 {
		return h - 1, h + 1
	}
	d := set.Job.Balls.Diameter
	return math.Min(36, 0.625*d), math.Max(38, 0.645*d)
}

func (s *shodFin) look() {
	f, p, t := s.fin, s.shoe, s.set.Material.Thickness
	s.need(f.Template == p.Template && p.OnTable.Upright, "the shoe is of another template, or lies flat")
	sin, cos := f.OnTable.Turn.SinCos()
	along := geom.Vec{X: cos, Y: sin}
	ps, pc := p.OnTable.Turn.SinCos()
	across := geom.Vec{X: pc, Y: ps}
	s.need(math.Abs(along.Dot(across)) < 1e-9, "the shoe does not stand square to the fin")

	walls := uprights(p)
	slices.SortFunc(walls, func(a, b struct{ x, low, high float64 }) int { return int(math.Copysign(1, a.x-b.x)) })
	s.need(len(walls) == 4, "the shoe has %d upright edges, not its two sides and its slot's two walls", len(walls))
	if s.fault != "" {
		return
	}
	wide := walls[2].x - walls[1].x
	s.need(wide >= t && wide <= t+slotOver, "the shoe's slot is %.3f mm wide for a sheet of %.3f", wide, t)
	middle := geom.Point{X: p.OnTable.X, Y: p.OnTable.Y}.Add(across.Scale((walls[1].x + walls[2].x) / 2))
	from := middle.Sub(geom.Point{X: f.OnTable.X, Y: f.OnTable.Y})
	s.off(from.Cross(along), "the slot beside the fin")
	front, back := from.Dot(along)-t/2, from.Dot(along)+t/2
	nose := 0.0
	if f.Template == jig.Foot {
		nose = s.set.Table.L
	}
	s.off(f.OnTable.X+front*cos-nose, "the shoe's front before the nose's plane")

	low, high := noses(s.set)
	top := p.OnTable.Z + p.Outline.Bounds().Max.Y
	round := math.Sqrt(math.Max(0, wide*wide-t*t)) / 2 // the fin's edges stand so far up in the slot's round end
	ride := math.Max(walls[1].high, walls[2].high) + round
	s.need(walls[0].low <= low-shoeOver && top >= high+shoeOver && ride <= low-1, "the shoe stands whole from %.1f to %.1f mm high, noses from %.1f to %.1f", ride, top, low, high)
	seat := math.Inf(1)
	for _, e := range uprights(f) {
		if e.low <= low-1 && e.high >= high+shoeOver && e.x > back-markTol {
			seat = math.Min(seat, e.x)
		}
	}
	s.off(seat-back-leaf*leavesMost/2, "room for half of the leaves")
	s.clear(seat, ride, top)
}

// clear looks at shoe and fin with every number of leaves behind the shoe.
func (s *shodFin) clear(seat, ride, top float64) {
	if s.fault != "" {
		return
	}
	t, z := s.set.Material.Thickness, s.fin.OnTable.Z
	tongue, rests := math.Inf(1), math.Inf(1)
	for _, k := range proof.ChainOf(s.fin.Outline) {
		for i := range 33 {
			q := k.At(float64(i) / 32)
			tongue = math.Min(tongue, q.X)
			for n := range leavesMost + 1 {
				to := seat - leaf*float64(n)
				if q.X > to-t+markTol && q.X < to-markTol && z+q.Y > ride+markTol && z+q.Y < top {
					s.need(false, "with %d leaves the fin lies in the shoe at x %.2f, %.2f mm high", n, q.X, z+q.Y)
				}
			}
		}
		if !k.Arc && math.Abs(k.A.Y-k.B.Y) <= markTol && k.Length() > lipLeast && math.Min(k.A.X, k.B.X) < seat-leaf*leavesMost {
			rests = math.Min(rests, math.Abs(z+k.A.Y-ride))
		}
	}
	s.off(rests, "the slot's round end over the tongue")
	s.need(seat-leaf*leavesMost-tongue >= tongueLeast, "with all leaves the tongue is %.2f mm in the shoe", seat-leaf*leavesMost-tongue)
	s.need(tongue >= seat-t, "without leaves the fin stands %.2f mm before its shoe", seat-t-tongue)
}
