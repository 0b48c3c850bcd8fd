package paper

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/layout/job"
	"spotjig/post"
)

// bonding says how the fins are fixed.
func (s *sheaf) bonding(set post.Set) {
	if !hasFins(set) {
		return
	}
	if hasBoxes(set) {
		s.heading("Fold the boxes")
		s.bullet("1", "Fold along the scores, away from the scored face, against a steel rule; the face that says NOSE stays flat.")
		s.bullet("2", "Fold the two gussets and the base back, glue the base's tabs inside the gussets and hold them until they are dry and square.")
		s.bullet("3", "End boxes are glued to their legs between the scored lines, front flush with the leg's end; side boxes are not glued: they slide beside their scales.")
		return
	}
	if set.Job.Jig.FinFix == "screwed" {
		s.heading("Screw the end fins")
		s.bullet("1", "Scrape the arrises off with a blade held square; peel the film only where pieces meet.")
		s.bullet("2", "Push each end fin's tab into the slot of its leg until its lip bears on the end edge of the leg, and drive the screws while a square holds it upright. Nothing may stand proud of the underside.")
		s.bullet("3", "Side fins are not fixed: they slide beside their scales.")
		return
	}
	s.heading("Bond the end fins")
	s.bullet("1", "Scrape the arrises off with a blade held square; peel the film only where pieces meet. No solvent cement and no alcohol: they craze cut edges.")
	s.bullet("2", "Uncured epoxy and acrylate adhesives can make the skin allergic to them, as a rule for good: gloves that the adhesive's data sheet names (often nitrile), changed when soiled, nothing on bare skin, a window open. A UV lamp needs eyewear for its wavelength.")
	s.bullet("3", "Two-part or UV adhesive, sparingly, on the tab and behind the lip, never on the front edge or under the leg.")
	s.bullet("4", "Push each end fin home until its lip bears on the end edge of its leg along its whole thickness; hold it against a square until the adhesive has set, and wipe off what came out.")
	s.bullet("5", "Side fins are not bonded: they slide beside their scales.")
}

func hasFins(set post.Set) bool {
	return slices.ContainsFunc(set.Jig.Parts, func(p jig.Part) bool { return p.OnTable.Upright })
}

func hasBoxes(set post.Set) bool {
	return slices.ContainsFunc(set.Jig.Parts, func(p jig.Part) bool { return p.Role.Box() })
}

// lapped reports whether the pieces lap over each other (film, card) instead of
// being joined edge to edge.
func lapped(set post.Set) bool { return set.Machine.Process == machine.Knife }

// keyed reports whether sliding keys shut the joints.
func keyed(set post.Set) bool {
	return slices.ContainsFunc(set.Jig.Joints, func(j jig.Joint) bool { return j.Part != "" })
}

// taped reports whether some joints are held shut with tape.
func taped(set post.Set) bool {
	return slices.ContainsFunc(set.Jig.Joints, func(j jig.Joint) bool { return j.Part == "" })
}

// joining says how pieces of the job's kind go together.
func (s *sheaf) joining(set post.Set) []string {
	out := []string{"Cloth stretched, brushed and ironed first, and cold again: a warm or loose cloth moves under the marks."}
	if lapped(set) {
		return append(out,
			"Lay the pieces on the cloth face up, lettering readable, the lettered cushion towards its cushion. Each lap goes over its neighbour as far as the scored line; the pair of pin holes is spaced differently at every joint, so that the wrong piece does not go on.",
			"Two pins of "+s.whole(4)+", drill shanks or nails without heads, do for all joints in turn: press one through each hole of the pair, which is a little smaller and holds it in the middle, pull the lap flat, tape it down between the scored lines, take the pins out before the next.",
			"Move the template by sliding it, held at two places; never bend it.")
	}
	leaf := "Try both shoulders of every joint with a feeler leaf of " + figure.Short(set.Job.Jig.ClosurePM, 3) + " mm: where it goes in, look for grit"
	if keyed(set) {
		tape := "No tape is needed."
		if taped(set) {
			tape = "A joint for which the list names no key has a dovetail: pull it shut and hold it with low-tack tape across it, clear of the slots. The others need no tape."
		}
		return append(out,
			"Lay the pieces on the cloth face up, lettering readable, the lettered cushion towards its cushion. Press every tail straight down into its socket, the letters of both pieces naming each other.",
			"Drop each key, lettered for its joint, letters up, into the notch beside its tail, and push it home along the tail by hand, as hard as a thumb does: it pulls the shoulders shut. One that goes to the end of its way without holding belongs elsewhere.",
			leaf+", or for the wrong key. "+tape,
			"Move the template by sliding it, never by lifting it.",
			"After use push every key out by its small end, beside the tail's head, with the marker's blunt end: a key left in bends its tail for good (creep).")
	}
	return append(out,
		"Lay the pieces on the cloth face up, lettering readable, the lettered cushion towards its cushion. Each tail fits one socket only; what does not go in is the wrong piece, or turned.",
		"Press every tail straight down into its socket. Pull the shoulders shut and hold them with low-tack tape across every joint, clear of the slots. "+leaf+".",
		"Move the template by sliding it, never by lifting it.")
}

// whole is a round length that somebody looks for in a shop or a drawer.
func (s *sheaf) whole(mm float64) string {
	if s.inches {
		return figure.Inches(mm) + " (" + figure.Short(mm, 0) + " mm)"
	}
	return figure.Short(mm, 0) + " mm"
}

// assembling lists the joints.
func (s *sheaf) assembling(set post.Set) {
	s.heading("Assemble on the bed")
	s.numbered(s.joining(set))
	if len(set.Jig.Joints) == 0 {
		return
	}
	rows := [][]string{{"Tail on", "Socket in", "How to tell it", "Closed, taped"}}
	if lapped(set) {
		rows[0][0], rows[0][1] = "Piece", "Its neighbour"
	}
	if keyed(set) {
		rows[0][3] = "Closed, leaf"
	}
	for _, j := range set.Jig.Joints {
		rows = append(rows, []string{clean(j.Tail), clean(j.Socket), clean(j.Key), "[]"})
	}
	s.table([]float64{15, 15, 60, 15}, rows)
}

// setting says how end fins on shoes are set to a table's length.
func (s *sheaf) setting(set post.Set) {
	if len(set.Jig.Settings) == 0 {
		return
	}
	s.heading("Set to the table's length")
	stack := func(n int) string {
		return figure.Short(set.Material.Thickness+jig.LeafThick*float64(n), 2)
	}
	s.numbered([]string{
		fmt.Sprintf("Leaves: rectangles of %s, cut with shears from plastic or brass sheet %g mm thick, flat and free of burr, %d for each shoe.", jig.LeafSize, jig.LeafThick, 2*jig.LeavesEach),
		"Measure the playing surface along the middle, nose to nose, and find its length below: so many leaves go behind both shoes of the template while the marks of that row are marked. A template whose marks stand in two rows is laid once for each.",
		"Hang each shoe, its lettering towards the fin, over the fin's tongue, put the leaves between shoe and fin, on top of the tongue, press all home and hold it with low-tack tape over the tops, none on the front. A feeler leaf of 0.05 mm goes in nowhere.",
		fmt.Sprintf("Shoe and leaves together by caliper, both fins alike: %s mm with none, %s mm with %d, %s mm with %d, within 0.05.", stack(0), stack(jig.LeavesEach), jig.LeavesEach, stack(2*jig.LeavesEach), 2*jig.LeavesEach),
	})
	rows := [][]string{{"Template", "Marks", "Measured length, mm", "Leaves behind each shoe", "Off its rule, mm"}}
	for _, t := range set.Jig.Settings {
		var names []string
		for _, id := range t.Marks {
			names = append(names, clean(set.Called(id)))
		}
		for i, row := range t.Rows {
			what := strings.Join(names, "; ")
			if i > 0 {
				what = "the same"
			}
			rows = append(rows, []string{clean(t.Template), what, figure.Fixed(row.From, 1) + " to " + figure.Fixed(row.To, 1), strconv.Itoa(row.Leaves), figure.Short(row.Left, 2)})
		}
	}
	s.table([]float64{10, 48, 22, 16, 12}, rows)
}

// laying says how a template is brought into place.
func (s *sheaf) laying(set post.Set) {
	s.headingOver("Lay and centre", headingRoom/2+figureHeight(set, s.width()/2))
	s.layingFigures(set)
	if !hasFins(set) {
		leaf := ""
		if j := set.Job.Jig; j.SeatStated {
			leaf = fmt.Sprintf(" Stand a steel square on the bed, its blade upright against that edge: between blade and block, at nose height, no feeler leaf thicker than %s mm goes in.", figure.Short(j.SeatPM, 2))
		}
		s.numbered([]string{
			"Four squared wooden blocks a template, 45 x 45 mm or more in section and " + s.whole(150) + " long or more; the two for the sides no deeper than " + s.whole(65) + ", from nose to template, and equally deep. Planed true: a steel square on every face.",
			"Stand an end block on each leg, where its lettering says, its face flush with the leg's straight end edge along its whole length, and tape block and film together as far as the scored line." + leaf + " The blocks now carry the edge: bring the template up until both touch the end nose. Touch, do not push: a strip of office paper between block and nose just drags.",
			"Lay a side block on each end of the crosspiece and push it out until it touches its side nose. Read each scale at the block's inner face, the one away from the nose; shift the template sideways until the two readings agree. Ends, sides, ends again.",
			"The two readings and the depths of the two side blocks added are the width there; the job has " + widths(set) + ". If they differ by more than the tape's own " + plusMinus(set.Table.TapePM) + ", measure blocks and table again.",
			"Weights on the places marked for them, 1 kg or more each; the film lies flat everywhere.",
			tried(set),
		})
		return
	}
	s.numbered([]string{
		"Black arrow heads: the two end " + stands(set) + " set the template. Bring it up until both touch the end nose. Touch, do not push: a strip of office paper at each of them just drags.",
		centring(set),
		fmt.Sprintf("%s the width there; the job has %s. If they differ by more than the tape's own %s, measure the table again.", addedUp(set), widths(set), plusMinus(set.Table.TapePM)),
		"Ends, sides, ends again: sliding sideways may have moved an end off. The paper strips must drag at both.",
		"Weight it: a bag of sand or a book on each leg and on the middle.",
		tried(set),
	})
	if set.Job.Jig.HallTempC != set.Job.Jig.ShopTempC || set.Material.Expansion > 0 {
		s.para(fmt.Sprintf("Cut at %s degrees C for use at %s. Each 10 degrees more make a metre of this sheet %s mm longer.", figure.Short(set.Job.Jig.ShopTempC, 1), figure.Short(set.Job.Jig.HallTempC, 1), figure.Short(set.Material.Expansion*10*1000, 2)))
	}
}

// centring says where the side scales are read. A fin's scale is numbered from the jig's
// centre line to the nose and read at its back edge; a box's is read at its inner edge.
func centring(set post.Set) string {
	at := "the fin's back edge, the upright one away from the nose, against the tick beside it"
	if hasBoxes(set) {
		at = "the box's inner edge, the one away from the nose"
	}
	return "White arrow heads: the side " + stands(set) + " centre it. Push both out until they touch the side noses. Read each scale at " + at + "; shift the template sideways until the two readings agree."
}

// addedUp says what makes the width: a fin's two readings run from the jig's centre line to
// the noses; a box's stop at its inner edge.
func addedUp(set post.Set) string {
	if hasBoxes(set) {
		return "The two readings and the depths of both side boxes, from nose to inner edge, added are"
	}
	return "Each scale counts from the jig's centre line to the nose, so the two readings added are"
}

// widths is how wide the table is where the templates are centred, as the job has it.
func widths(set post.Set) string {
	seen := map[string]string{}
	var out []string
	for _, t := range set.Templates() {
		at := 0.0
		for _, p := range set.Jig.Parts {
			if p.Template == t && p.Role.Side() {
				at = p.OnTable.X
			}
		}
		if at == 0 {
			at = set.Table.L / 2 // blocks are no parts: the middle, as a class has it
		}
		w := figure.Length(widthAt(set, at))
		seen[w] = t
		out = append(out, w+" at the "+clean(t)+" template")
	}
	if len(seen) < 2 {
		return figure.Length(set.Table.W)
	}
	return strings.Join(out, ", ")
}

// widthAt is the distance between the side noses at x along the table.
func widthAt(set post.Set, x float64) float64 {
	c := set.Table.Corners
	side := func(a, b [2]float64) float64 {
		if a[0] == b[0] {
			return a[1]
		}
		return a[1] + (b[1]-a[1])*(x-a[0])/(b[0]-a[0])
	}
	return side(c[3], c[2]) - side(c[0], c[1])
}

// tried says what to try before marking, and how far off is too far: the tolerance, or
// what is likely where the job states none.
func tried(set post.Set) string {
	most := "the tolerance of " + figure.MM(set.Job.Jig.Tolerance)
	if !set.Job.Jig.ToleranceStated {
		likely := 0.0
		for _, b := range set.Jig.Budgets {
			likely = math.Max(likely, b.Likely)
		}
		most = figure.MM(likely) + ", which 19 of 20 layings stay within"
	}
	return "Before you mark anything, check one spot and one end of a line with a tape from the noses, against the tape card below. If they are off by more than " + most + ", stop and find out why."
}

// stands is what stands up on the template.
func stands(set post.Set) string {
	if hasBoxes(set) {
		return "boxes"
	}
	return "fins"
}

// layingFigures draws each template alone on the table, two beside each other.
func (s *sheaf) layingFigures(set post.Set) {
	const gap, under = 6.0, 7.0
	w := (s.width() - gap) / 2
	h := figureHeight(set, w)
	ts := set.Templates()
	for i := 0; i < len(ts); i += 2 {
		s.keep(h + under)
		for k, t := range ts[i:min(i+2, len(ts))] {
			x := s.margin + float64(k)*(w+gap)
			area := geom.Box{Min: geom.Point{X: x, Y: s.y}, Max: geom.Point{X: x + w, Y: s.y + h}}
			s.drawTable(set, plan{templates: []string{t}, pieces: true, contacts: true}, fitWindow(pictureBox(set), area))
			s.font("", cellSize)
			s.put(x, s.y+h+3.5, capital(clean(t))+" template")
		}
		s.y += h + under
	}
}

// stepShare is the share of the page's width that a step's picture takes.
const stepShare = 0.64

func plusMinus(v float64) string {
	if v == 0 {
		return "reading"
	}
	return "plus or minus " + figure.MM(v)
}

// marking goes through the marks step by step, with pictures.
func (s *sheaf) marking(set post.Set) {
	s.headingOver("Mark, step by step", headingRoom*1.5+figureHeight(set, s.width()*stepShare))
	j := set.Job.Jig
	s.para(fmt.Sprintf("Soft chalk pencil rather than ink, point %s mm, %s mm thick where it passes the plate, by a caliper: every line is ruled along one edge of its slots, the true one, and stands half that thickness off it. A scored dash lies beside the true edge: towards the template's own cushion, of an arc outside, of a line along the table on the right as seen from the head.",
		figure.Short(j.MarkerTip, 2), figure.Short(j.MarkerGuide, 2)))
	s.para("Lean the tool's foot on the true edge all the way, its top away from the edge if it must lean at all, never over it; the other edge only gives way. In a spot's hole hold it upright: it goes in with hardly any play.")
	if j.Spots == job.SpotsSticker {
		text := "Spots: set the adhesive spot into its hole with tweezers, press it on through the hole."
		if slices.ContainsFunc(set.Jig.Parts, func(p jig.Part) bool { return p.Role == jig.Plug }) {
			text += " Where a plain point is wanted, drop the plug in and mark through its middle."
		}
		s.para(text)
	}
	step := 0
	width := s.width() * stepShare
	h := figureHeight(set, width) + 2
	for i, t := range set.Templates() {
		step++
		s.sub(fmt.Sprintf("Step %d: the %s template", step, clean(t)), h)
		s.tableFigure(set, width, plan{templates: []string{t}, marks: set.Served(set.Templates()[:i+1]...), markNames: true, contacts: true})
		s.tick("Laid, centred and checked. Spots first, marker upright, then arcs, then lines, each in one light stroke along the true edge.")
		if i == 0 && len(set.Jig.Gauges) > 0 {
			s.tick("It stays where it lies when it is done: the gauge needs both templates.")
		}
	}
	if spot, ok := turnedRound(set); ok {
		step++
		s.sub(fmt.Sprintf("Step %d: the %s from the other end", step, spot), h)
		s.tableFigure(set, width, plan{templates: []string{jig.Foot}, reversed: true, marks: set.Served(set.Templates()...), contacts: true})
		s.tick("Turn the foot template round, lay it against the head nose the same way, and mark the " + spot + " a second time, faintly. The true spot lies midway between the two. How far apart they are is twice what joints, cut and laying put it off, as far as the ends are parallel. Apart: ______ mm.")
	}
	for _, g := range set.Jig.Gauges {
		step++
		s.sub(fmt.Sprintf("Step %d: the %s, by thread and gauge", step, clean(set.Called(g.Mark))), h)
		s.tableFigure(set, width, plan{templates: set.Templates(), pieces: true, marks: set.Served(set.Templates()...), contacts: true})
		for _, t := range s.gauging(set, g) {
			s.tick(t)
		}
	}
	step++
	s.sub(fmt.Sprintf("Step %d: lift, then finish", step), h)
	s.tableFigure(set, width, plan{marks: set.Marks, markNames: true})
	loosen := "Peel the tape off"
	if keyed(set) {
		loosen = "Push the keys out"
		if taped(set) {
			loosen = "Peel the tape off, push the keys out"
		}
	}
	for _, t := range []string{
		loosen + " and take the pieces up one at a time, straight up: a piece that tips or slides smears the fresh lines.",
		"Close the gaps of the lines with a straightedge laid along what is drawn; close arcs freehand, lightly.",
		"Long string and any line from template to template: stretch a thread over the marks at both ends, tight and just clear of the cloth, dab along it, join the dabs with a straightedge.",
	} {
		s.tick(t)
	}
	s.closing(set)
}

// gauging says how a spot is set between the templates.
func (s *sheaf) gauging(set post.Set, g jig.Gauge) []string {
	spot, at := clean(set.Called(g.Mark)), [2]string{clean(g.Pieces[0]), clean(g.Pieces[1])}
	held := "its hook on the inner edge of the template each time, beside the thread"
	if lapped(set) { // film and card hold no hook
		held = fmt.Sprintf("its %s line over the inner edge of the template each time, beside the thread, and that taken off what it reads", s.heldLine())
	}
	begin := fmt.Sprintf("Both templates still lie as they were centred, weighted. Stretch a thread over both scored centre lines, tight, so that it covers the line at the inner edge of %s and of %s, and fix its ends.", at[0], at[1])
	where, off := "in the middle of the table", "both longer, or both shorter, by the same: then the table is not as long as it was measured, and the spot is in its middle all the same"
	if g.Times > 1 {
		begin = "The thread stays where it is; take the other gauge away."
		where = "where the " + spot + " belongs"
		off = fmt.Sprintf("that from %s is longer, or shorter, by %s times as much as that from %s: then the table is not as long as it was measured, and the spot is in its place all the same", at[g.Far], figure.Short(g.Times, 0), at[1-g.Far])
	}
	return []string{
		begin,
		fmt.Sprintf("Slide %s under the thread, hole %s. With one tape, %s: from %s to the near end of %s %s, from %s to its other near end %s.", clean(g.Part), where, held, at[0], clean(g.Part), figure.Length(g.Reach[0]), at[1], figure.Length(g.Reach[1])),
		"Slide it until both are as written here, or " + off + "." + leavesCount(set) + " Read ________ and ________.",
		"Turn it until the thread, seen from straight above, covers its scored line at both ends; read both distances once more; hold it down and mark the " + spot + " through its hole.",
	}
}

// heldLine is the line by which a tape is held that has nothing to hook on.
func (s *sheaf) heldLine() string {
	if s.inches {
		return "4 in"
	}
	return "100 mm"
}

// leavesCount says what leaves behind shoes do to the readings of a gauge: an inner edge
// stands as much nearer to the middle as its template further from the nose.
func leavesCount(set post.Set) string {
	if len(set.Jig.Settings) == 0 {
		return ""
	}
	return fmt.Sprintf(" First add %s to a reading for every leaf more than %d behind the shoes of its template, and take as much off for every leaf fewer.", figure.MM(jig.LeafThick), jig.LeavesEach)
}

// turnedRound names the spot that the budget has marked from both ends, and reports
// whether there is one.
func turnedRound(set post.Set) (string, bool) {
	i := slices.IndexFunc(set.Jig.Budgets, func(b jig.Budget) bool { return b.Method == jig.ByReversal })
	if i < 0 {
		return "", false
	}
	return clean(set.Called(set.Jig.Budgets[i].Of())), true
}

// closing lists the last checks, by the marks this job has.
func (s *sheaf) closing(set post.Set) {
	s.sub("Closing checks", 12)
	s.tick("Spots on one thread: stretched from the middle of the head nose to the middle of the foot nose it passes over every spot on the centre line.")
	for _, m := range set.Marks {
		switch m.Kind {
		case layout.Line:
			if m.X == m.X2 && math.Abs(m.Y2-m.Y) > set.Table.W/2 {
				s.tick(fmt.Sprintf("%s: both ends %s from the head nose, read ________ and ________%s.", capital(clean(m.Name)), figure.Length(m.X), squared(set, m)))
			}
		case layout.Arc:
			s.tick(fmt.Sprintf("%s: %s from its centre at three points, both ends and the middle: ________ ________ ________.", capital(clean(m.Name)), figure.Length(m.Radius)))
		}
	}
	s.tick("A look along the sights: quarters of the width and eighths of the length. Sights may be off; a mark that is off by a hand's breadth is not the sights' fault.")
}

// squared says how far a line's ends lie from the centre line's spot that is furthest from
// it: a table has pockets in its corners, so there is no corner to measure a diagonal to.
func squared(set post.Set, line layout.Mark) string {
	var far layout.Mark
	for _, m := range set.Marks {
		if m.Kind == layout.Spot && strings.Contains(m.Across, "on the centre line") && math.Abs(m.X-line.X) > math.Abs(far.X-line.X) {
			far = m
		}
	}
	if far.ID == "" || math.Abs(far.X-line.X) < squareLeast {
		return ""
	}
	to := func(x, y float64) string { return figure.Length(math.Hypot(x-far.X, y-far.Y)) }
	p := line.Places()
	return fmt.Sprintf("; from the %s to its %s %s, to its %s %s, read ________ and ________", clean(far.Name), p[0].Point, to(p[0].X, p[0].Y), p[1].Point, to(p[1].X, p[1].Y))
}

// squareLeast is how far from a line a spot must lie to tell whether the line is square, mm:
// nearer, both distances are nearly half the width and hardly change. Common practice.
const squareLeast = 300

// care says how the template is kept and the fingers too.
func (s *sheaf) care(set post.Set) {
	s.heading("Care of the sheet and of fingers")
	if lapped(set) {
		for _, t := range []string{
			"Trim against a steel rule taller than your fingers are thick, away from you. Spent blades go into a sharps box.",
			"Keep it flat between boards, in the dark, away from radiators and damp. Let it lie in the hall for an hour before it is used.",
			"Peel tape off slowly, flat along the sheet; what is creased or torn is cut again.",
		} {
			s.bullet("-", t)
		}
		return
	}
	for _, t := range []string{
		"Cut edges are sharp: scrape every arris before the first use, and wear gloves until then.",
		"Masking film stays on until the template is put together; peel it by hand, never with a blade.",
		"Wash with water and a little soap; no solvents, no glass cleaner, no dry rubbing.",
		"Keep it flat, in the dark, away from radiators. Let it lie in the hall for an hour before it is used.",
	} {
		s.bullet("-", t)
	}
	if set.Machine.Process == machine.Laser {
		s.bullet("-", "Fresh cuts give off fume: leave the pieces in the extraction, or in the open, before they come into a room.")
	}
}

// tapeRoom is kept for the card's beginning, mm: less of it at the foot of a page is a card
// in two places.
const tapeRoom = 90

// tapeCard writes every mark by tape: the card in marking-out order, then the
// marks' own words and rules.
func (s *sheaf) tapeCard(set post.Set) {
	s.headingOver("Tape card", tapeRoom)
	s.para("All marks by tape, in marking-out order. Measure square to each nose, at the nose. Left and right are as seen from the head end, looking to the foot.")
	if len(set.Tape) > 0 {
		rows := [][]string{{"", "Place", "From the end", "From the side", "Check"}}
		for i, c := range set.Tape {
			name := clean(c.Name)
			if c.Radius > 0 {
				name += ", radius " + figure.Length(c.Radius)
			}
			rows = append(rows, []string{strconv.Itoa(i + 1), name, reach(c.EndDist, c.End), reach(c.SideDist, c.Side), figure.Length(c.CheckBy) + " to " + clean(c.CheckAs)})
		}
		s.table([]float64{5, 34, 30, 30, 34}, rows)
		s.sub("Where the marks come from", 20)
	}
	rows := [][]string{{"Mark", "From the head nose", "From the foot nose", "Across", "Rule"}}
	for _, m := range set.Marks {
		rows = append(rows, []string{clean(m.Name), strings.TrimSuffix(clean(m.FromHead), " from the head nose"), strings.TrimSuffix(clean(m.FromFoot), " from the foot nose"), clean(m.Across), clean(m.Rule)})
	}
	s.table([]float64{22, 26, 26, 24, 34}, rows)
}

// reach is a distance and what it is from; nothing reads as being at it.
func reach(d float64, from string) string {
	if figure.MM(d) == figure.MM(0) {
		return "at the " + from
	}
	return figure.Length(d) + ", " + from
}

// formHeight is how much of a page the form takes, a whole one at most: it is torn off
// and kept with the table.
func (s *sheaf) formHeight(set post.Set) float64 {
	rows := 1
	for _, m := range set.Marks {
		rows += len(m.Places())
		if m.Kind == layout.Arc {
			rows++
		}
	}
	return math.Min(float64(rows)*(cellLead+1.6)+80, s.bottom()-s.margin)
}

// typedLines shows how the form's rows are typed: a spot, a line's end and an arc of the
// job's own, as far as it has them.
func (s *sheaf) typedLines(marks []layout.Mark) []string {
	var out []string
	seen := map[layout.Kind]bool{}
	for _, m := range marks {
		if seen[m.Kind] {
			continue
		}
		seen[m.Kind] = true
		p := m.Places()[0]
		line := fmt.Sprintf("%s: x %s, y %s", post.Parts(", ", clean(m.Name), p.Point), s.typed(p.X), s.typed(p.Y))
		if m.Kind == layout.Arc {
			line = fmt.Sprintf("%s: radius %s", clean(m.Name), s.typed(m.Radius))
		}
		out = append(out, line)
	}
	return out
}

// typed is a length as it is typed into a file of readings.
func (s *sheaf) typed(mm float64) string {
	if s.inches {
		return figure.Inches(mm)
	}
	return figure.MM(mm)
}

// planned is a length of the plan in the form.
func (s *sheaf) planned(mm float64) string {
	if s.inches {
		return figure.Inches(mm) + " (" + figure.Tenth(mm) + ")"
	}
	return figure.Tenth(mm)
}

// asMarked is the form to fill in after marking.
func (s *sheaf) asMarked(set post.Set) {
	s.headingOver("As marked", s.formHeight(set))
	unit := "mm"
	if s.inches {
		unit = "inches (mm)"
	}
	s.para("Measure what is on the cloth and write it down; x runs from the head nose, y from the centre line, left positive, " + unit + ". To compare with the plan, type a line for each place into a text file, as these, and give it to spotjig marked:")
	for _, l := range s.typedLines(set.Marks) {
		s.mono(l)
	}
	s.y += 2
	rows := [][]string{{"Mark", "Point", "Plan x", "Marked x", "Plan y", "Marked y", "Off by"}}
	add := func(name, point string, x, y float64) {
		rows = append(rows, []string{name, point, s.planned(x), "", s.planned(y), "", ""})
	}
	for _, m := range set.Marks {
		name := clean(m.Name)
		for _, p := range m.Places() {
			add(name, p.Point, p.X, p.Y)
		}
		if m.Kind == layout.Arc {
			rows = append(rows, []string{name, "radius", s.planned(m.Radius), "", "", "", ""})
		}
	}
	shares := []float64{30, 16, 14, 16, 14, 16, 14}
	if s.inches {
		shares = []float64{26, 13, 20, 15, 20, 15, 11}
	}
	s.table(shares, rows)
	for _, l := range layout.FormLines() {
		s.keep(9)
		s.font("", bodySize)
		s.put(s.margin, s.y+6, l)
		s.SetLineWidth(0.2)
		s.Line(s.margin+45, s.y+6.5, s.margin+s.width(), s.y+6.5)
		s.y += 9
	}
}
