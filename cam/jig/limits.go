package jig

import (
	"cmp"
	"math"
	"slices"

	"spotjig/cam/machine"
	"spotjig/layout/job"
)

// Limits are the limits that hold everywhere in one design, mm; validate holds every
// finished part against them.
type Limits struct {
	Thickness   float64 // sheet thickness as measured
	Thinnest    float64 // what joints are drawn to bear in: as measured, of a shop's as it may arrive
	Web         float64 // material between two openings, or an opening and an edge
	Slot        float64 // width of slots
	Aside       float64 // how far a slot's middle runs beside its mark, away from its true edge
	Bore        float64 // radius of a hole for the marker
	Hole        float64 // radius of a spot hole: the marker's, or a sticker's
	Play        float64 // what a spot hole is wider than what goes into it
	InnerRadius float64 // least inside corner radius
	PlanRadius  float64 // least plan corner radius

	JointClear float64 // between a joint, tails included, and a spot hole's edge
	Tail, Neck float64 // least tail length and neck
	Reach      float64 // the furthest that a joint of one piece goes into the next
	Notch      float64 // and into the piece that has the tail
	JointLeast float64 // the shortest seam that has room for a joint
	Smaller    Joining // the joint that a seam gets which has no room for the usual one; zero: none
	Flank      float64 // clearance a flank, square to it
	Toe        float64 // clearance at a tail's end, so that shoulders close first

	Lip, FinSlot      float64
	Shod              bool    // end fins stand on shoes
	EndRoom           float64 // an end contact keeps this far from a seam along the table
	FinTop, FinBottom float64 // z of a fin's top and of its lowest point
	NoseLow, NoseHigh float64 // the range of nose heights a fin must serve
	SideTravel        float64
	EndGap            float64 // crosspiece end to the side nose

	Seat []float64 // how far off its datum, by each cause, what touches a nose may stand; none for fins

	MemberWidth float64 // of legs, crosspieces and wings, at least

	bridgeMax float64 // longest uncovered gap before a warning
	slotMax   float64 // longest slot between bridges
	BedW      float64 // largest piece, tails included
	BedH      float64

	smallW, smallH float64 // the same for the template that is drawn for smaller sheets
	gap            float64 // between pieces on a sheet

	Inches bool // lettered lengths begin with the tape's inches

	draw drawn
}

// Joining is the room that a smaller joint takes: what Limits.Reach and JointLeast are for the
// usual one. It has no notch.
type Joining struct{ Reach, Least float64 }

// smaller are the limits of seams that have the smaller joint.
func (lim Limits) smaller() Limits {
	lim.Reach, lim.JointLeast, lim.Notch = lim.Smaller.Reach, lim.Smaller.Least, 0
	return lim
}

// What the limits are made of; the figures are the design's, common practice
// in acrylic work where nothing is published.
const (
	slotClear    = 0.3  // added to the marker's guide: it runs along one edge, the other gives way
	boreClear    = 0.05 // left of a hole for it, cut as tight as the kerf's uncertainty allows
	webMin       = 8.0  // or 1.5 t; check ticks (label.go) end half a millimetre or more inside it
	webCard      = 12.0 // in card
	bedMargin    = 5.0  // kept free a side inside stock and travel unless the machine says otherwise
	jointToSpot  = 20.0
	arrives      = 0.8 // of what a sheet is sold as, the thinnest it comes
	planCorner   = 3.0
	slotLongest  = 110.0
	gapLongest   = 25.0
	gapSticker   = 40.0
	coverLeast   = 0.80
	memberSlim   = 86.0 // where one more member then lies beside the others on a sheet
	noseShare    = 0.635
	noseSharePM  = 0.01
	finAboveNose = 14.0
	stickerExtra = 0.5
	lineEdge     = 22.0 // from a crosspiece's edge to its nearest line
)

// MemberWide is how wide legs, crosspieces and wings usually are, mm: under 100, so that
// a joint has one tail.
const MemberWide = 96.0

// LimitsFor are the limits of a job in plate; film changes some of them.
func LimitsFor(req Request) Limits {
	// Fins and their slots fit the sheet as measured; webs, tails and lips follow it
	// roughly. A shop cuts the plates before the sheet is measured and the fins after:
	// what both share follows the thickness that the sheet is sold as.
	t := req.Material.Thickness
	thinnest := t
	if req.Machine.Process == machine.Shop {
		t = req.Material.Sold
		thinnest = arrives * t
	}
	r := Limits{Thickness: req.Material.Thickness, Thinnest: thinnest, Web: math.Max(webMin, 1.5*t), InnerRadius: math.Max(2, t/2), PlanRadius: planCorner, Inches: req.Inches, draw: req.draw}
	if req.Material.Kind == "card" {
		r.Web = webCard
	}
	guide, least := req.Want.MarkerGuide, math.Max(2, t/2)
	r.Slot = Round3(math.Max(guide+slotClear, least))
	r.Aside = (r.Slot - guide) / 2
	r.Bore = Round3(math.Max(guide+req.Material.KerfPM+boreClear, least) / 2)
	r.Hole, r.Play = r.Bore, 2*r.Bore-guide
	r.bridgeMax = gapLongest
	if req.Want.Spots == job.SpotsSticker {
		r.Hole, r.Play = (req.Want.Sticker+stickerExtra)/2, stickerExtra
		r.bridgeMax = gapSticker
	}
	r.JointClear, r.slotMax = jointToSpot, slotLongest
	r.Tail = math.Ceil(math.Max(12, 3*t))
	r.Neck = math.Ceil(math.Max(4*t, 14))
	r.Flank, r.Toe = job.DovetailSlip, 0.3
	r.Lip = math.Ceil(math.Max(8, 1.5*t)*2) / 2
	r.FinSlot = r.Thickness + FinClearance(req.Want.Fit)
	r.NoseLow, r.NoseHigh = noseRange(req)
	r.FinBottom = 0.4
	r.FinTop = math.Ceil(r.NoseHigh + finAboveNose)
	r.SideTravel = req.Want.SideTravel
	r.EndGap = r.Lip + r.SideTravel + 0.5
	r.smallW, r.smallH = usable(req, req.draw.stock)
	r.BedW, r.BedH = r.smallW, r.smallH
	if req.draw.end != "" { // the other template's pieces fill the largest
		r.BedW, r.BedH = usable(req, 0)
	}
	r.gap = RoomFor(req.Machine, req.Material).Gap
	r.MemberWidth = MemberWide
	if req.Want.Joint != job.JointKeyed && !req.draw.wide { // a keyed joint takes nearly the whole width
		r.MemberWidth = memberWidth(r.BedW, r.BedH, r.gap)
	}
	return r
}

// FinClearance is what a fin's slot is wider than the measured sheet, mm:
// common practice for a hand fit in laser-cut acrylic.
func FinClearance(fit string) float64 {
	switch fit {
	case "press":
		return 0.05
	case "loose":
		return 0.2
	}
	return 0.1
}

// noseRange is the height of nose that the fins must meet: as measured, within
// 1 mm, or 62.5 to 64.5 % of the ball (WPA, as quoted) with carom's 37 +-1 mm
// (World Rules of Carom Billiard) inside it.
func noseRange(req Request) (lo, hi float64) {
	if h := req.Table.NoseHeight; h > 0 {
		return h - 1, h + 1
	}
	d := req.BallDiameter
	lo, hi = d*(noseShare-noseSharePM), d*(noseShare+noseSharePM)
	return math.Min(lo, 36), math.Max(hi, 38)
}

// Half is how far a slot's edge may lie from its mark, mm.
func (lim Limits) Half() float64 { return lim.Slot/2 + lim.Aside }

// memberWidth is how wide members are on a bed of that usable size, with that gap between
// pieces, mm: as usual, or a little narrower where one more of them then lies beside the
// others.
func memberWidth(bedW, bedH, gap float64) float64 {
	room := math.Min(bedW, bedH) + gap
	rows := math.Ceil(room/(MemberWide+gap) - 1e-6)
	if slim := math.Floor(10*(room/rows-gap)+1e-6) / 10; slim >= memberSlim && slim < MemberWide {
		return slim
	}
	return MemberWide
}

// usable is the largest piece that fits stock and travel with margin, kerf and
// lead-ins, mm; of the sizes of sheet so many larger ones are passed over.
func usable(req Request, passed int) (w, h float64) {
	margin := bedMargin
	if m := req.Machine.MarginBed; m > 0 {
		margin = m
	}
	off := 2 * (margin + RoomFor(req.Machine, req.Material).Edge)
	beds := beds(req)
	bed := beds[min(passed, len(beds)-1)]
	// Parts scaled for a colder hall are cut larger than they are drawn.
	k := math.Max(1, scaleFor(req))
	bw, bh := (bed[0]-off)/k, (bed[1]-off)/k
	if p := req.Want.PieceMax; p > 0 {
		bw, bh = math.Min(bw, p), math.Min(bh, p)
	}
	return bw, bh
}

// beds are what the machine reaches of each size of sheet that there is enough of for
// every copy, the largest first.
func beds(req Request) [][2]float64 {
	// A sheet lies with its corner on the work zero.
	zero := req.Machine.Offsets[1]
	w, h := req.Machine.Max.X-zero.X, req.Machine.Max.Y-zero.Y
	if req.Machine.Process == machine.Shop {
		w, h = math.Inf(1), math.Inf(1)
	}
	var out [][2]float64
	for _, s := range req.Material.Sheets {
		if s.Count > 0 && s.Count < req.Copies {
			continue
		}
		sw, sh := math.Min(s.Width, w), math.Min(s.Height, h)
		if t := math.Min(s.Height, w) * math.Min(s.Width, h); t > sw*sh {
			sw, sh = math.Min(s.Height, w), math.Min(s.Width, h)
		}
		if bed := [2]float64{sw, sh}; !slices.Contains(out, bed) {
			out = append(out, bed)
		}
	}
	if len(out) == 0 { // which laying the pieces then says
		all := req
		all.Copies = 0
		if len(req.Material.Sheets) == 0 {
			return [][2]float64{{0, 0}}
		}
		return beds(all)
	}
	slices.SortStableFunc(out, func(a, b [2]float64) int { return cmp.Compare(b[0]*b[1], a[0]*a[1]) })
	return out
}
