package plate

import (
	"fmt"
	"math"
	"strings"

	"spotjig/cam/jig"
	"spotjig/layout/geom"
)

// A shoe, mm: a plate that stands across an end fin's front and touches the nose in its
// stead. Fin and shoe are halved into each other: below, a tongue of the fin stands in the
// shoe's slot and keeps it from slipping sideways and from turning; above, the shoe is whole
// and bears through the leaves on the fin's seat. The nose pushes shoe and leaves home, so
// that nothing stands before the shoe. Sketch, from the side, with three leaves of six:
//
//	z top    ___ _____
//	        |  ||||    \
//	nose  > |  ||||seat \
//	        |  |||_      \
//	        |__|___|      \      the tongue ends short of the nose plane whatever
//	        | ' tongue     \     stands behind the shoe
const (
	shoeWide     = 18.0
	shoeFoot     = 0.6  // the shoe's foot stands this much higher than the fin's
	tongueShort  = 0.5  // the tongue's front, behind the nose plane with no leaf at all
	tongueLeast  = 0.25 // and in thin sheet at least
	tongueHeld   = 0.55 // the tongue goes at least so far into the shoe with all leaves
	seatBelow    = 4.0  // the seat begins this far below the lowest nose
	seatWall     = 8.0  // of the fin, between the pocket behind the seat and the relief above the lip
	topCorner    = 2.0
	leafTravel   = jig.LeafThick * jig.LeavesEach
	shoeLetter   = 4.0
	shoeSaysHigh = 2.2
)

// ShoeError says that a job leaves no room for shoes.
type ShoeError struct{ Why string }

// Error says why.
func (e *ShoeError) Error() string { return "no room for shoes at the end fins: " + e.Why }

// shoeable refuses shoes where a sheet is too thin for the slot's round end and for leaves
// on both sides, or a nose so low that the seat would be in the foot.
func shoeable(lim jig.Limits) error {
	if lim.FinSlot/2 < lim.InnerRadius || short(lim) < tongueLeast-1e-9 {
		return &ShoeError{fmt.Sprintf("a sheet of %g mm is too thin for them", lim.Thickness)}
	}
	if tongue(lim) < lim.Thickness+lim.InnerRadius+seatWall {
		return &ShoeError{fmt.Sprintf("a nose of %g mm is too low for a sheet of %g mm", lim.NoseHigh, lim.Thickness)}
	}
	return nil
}

// tongue is the height of the tongue, above the fin's lowest point: half of the fin, and
// low enough that the seat begins below every nose.
func tongue(lim jig.Limits) float64 {
	return math.Min((lim.FinTop-lim.FinBottom)/2, lim.NoseLow-seatBelow-2*lim.InnerRadius-lim.FinBottom)
}

// short is how far behind the nose plane the tongue's front is without leaves: less in thin
// sheet, so that it still is in its shoe with all of them.
func short(lim jig.Limits) float64 {
	return math.Min(tongueShort, lim.Thickness-2*leafTravel-tongueHeld)
}

// seat is how far behind the nose plane the leaves bear on the fin.
func seat(lim jig.Limits) float64 { return lim.Thickness + leafTravel }

// shod are the corners of a shod fin from its top to its foot, in place of a straight front:
// the seat, a pocket behind its foot so that leaves ride on no rounding, and the tongue.
func shod(lim jig.Limits) []jig.Corner {
	top, up, back := lim.FinTop-lim.FinBottom, tongue(lim), seat(lim)
	w, front := 2*lim.InnerRadius, leafTravel+short(lim)
	deep := back + lim.InnerRadius + 0.5
	at := func(x, y, r float64) jig.Corner { return jig.Corner{At: geom.Point{X: x, Y: y}, R: r} }
	return []jig.Corner{
		at(back, top, topCorner),
		at(back, up+w, 0.4), at(deep, up+w, lim.InnerRadius), at(deep, up, lim.InnerRadius),
		at(front, up, tongueCorner(lim)), at(front, 0, 1),
	}
}

// tongueCorner rounds the tongue's upper front. With all leaves behind the shoe only the
// foremost part of the tongue is in its slot: in thin sheet most of that stays straight, for
// the slot's end to ride on.
func tongueCorner(lim jig.Limits) float64 {
	return math.Min(1, (lim.Thickness-2*leafTravel-short(lim))/2)
}

// fromTongue puts a shod fin's part into its own frame, which begins at the tongue's front
// and not at the nose, and keeps cuts from starting on seat and tongue.
func fromTongue(part jig.Part, lim jig.Limits) jig.Part {
	front, up, back := leafTravel+short(lim), tongue(lim), seat(lim)
	at := func(x, y float64) geom.Point { return geom.Point{X: x, Y: y} }
	part.NoStart = append(part.NoStart,
		geom.Segment{From: at(back, lim.FinTop), To: at(back, up)},
		geom.Segment{From: at(back+lim.InnerRadius, up), To: at(front, up)},
		geom.Segment{From: at(front, up), To: at(front, 0)})
	to := geom.Placement{X: -front}
	part.Outline = part.Outline.Transform(to)
	part.Letters, part.NoStart = geom.Moved(part.Letters, to), geom.Moved(part.NoStart, to)
	s, c := part.OnTable.Turn.SinCos()
	part.OnTable.X += front * c
	part.OnTable.Y += front * s
	return part
}

// shoeParts are the shoes of a template's end fins, each where it stands with as many leaves
// behind it as the table needs that the jig was made for.
func shoeParts(tp *jig.Template, lim jig.Limits, font jig.Font) []jig.Part {
	var out []jig.Part
	for _, f := range tp.Fins {
		if f.Shoe == "" {
			continue
		}
		turned := f.Run + 90*geom.Degree
		s, c := turned.SinCos()
		half, behind := geom.Vec{X: c, Y: s}.Scale(-shoeWide/2), geom.Vec{X: s, Y: -c}.Scale(lim.Thickness/2)
		foot := tp.ToTable.Apply(f.Front.Add(half).Add(behind))
		outline, low := shoeOutline(lim)
		part := jig.Part{ID: f.Shoe, Template: tp.End, Role: jig.NoseShoe, Outline: outline, Scale: 1,
			OnTable: jig.Pose{X: foot.X, Y: foot.Y, Z: low, Turn: (turned + tp.ToTable.Turn).Rest(), Upright: true}}
		write := func(text string, high, y float64) {
			x := shoeWide/2 - font.Width(text, high)/2
			part.Letters = append(part.Letters, font.Strokes(text, high, geom.Placement{X: x, Y: y})...)
			part.Text = append(part.Text, text)
		}
		top := outline.Bounds().Max.Y
		write(f.Shoe, shoeLetter, top-topCorner-shoeLetter-1)
		write("LEAVES", shoeSaysHigh, top-topCorner-shoeLetter-shoeSaysHigh-4)
		// Nothing starts on the face that touches the nose's height, or in the slot.
		for _, e := range outline.Segments() {
			if e.From.X > topCorner && e.From.X < shoeWide-topCorner && e.To.X > topCorner && e.To.X < shoeWide-topCorner {
				part.NoStart = append(part.NoStart, e)
			}
		}
		out = append(out, part)
	}
	return out
}

// shoeOutline is a shoe, part frame, and how high above the cloth its foot stands. The slot's
// round end rides on the tongue's two upper edges.
func shoeOutline(lim jig.Limits) (outline geom.Contour, low float64) {
	r := lim.FinSlot / 2
	low = lim.FinBottom + shoeFoot
	rides := math.Sqrt(float64(r*r) - float64(lim.Thickness*lim.Thickness)/4)
	end := lim.FinBottom + tongue(lim) - rides + r - low
	high, mid := lim.FinTop-low, shoeWide/2
	var cs []jig.Corner
	p := func(x, y, rad float64) { cs = append(cs, jig.Corner{At: geom.Point{X: x, Y: y}, R: rad}) }
	p(0, 0, 1)
	p(mid-r, 0, 1)
	p(mid-r, end, r)
	p(mid+r, end, r)
	p(mid+r, 0, 1)
	p(shoeWide, 0, 1)
	p(shoeWide, high, topCorner)
	p(0, high, topCorner)
	return jig.Rounded(cs), low
}

// shoeOf is the name of an end fin's shoe: HE1 stands behind HN1.
func shoeOf(fin string) string {
	i := strings.LastIndex(fin, "E")
	return fin[:i] + "N" + fin[i+1:]
}
