package paper

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/layout/job"
	"spotjig/post"
)

// WriteJobSheet writes the sheet for the wall: what is cut from what, in which
// order and with which settings, what may go wrong, what to measure, how to put
// the template together and how to mark with it, and the forms to fill in.
func WriteJobSheet(w io.Writer, set post.Set, opt Options) error {
	size, err := opt.size()
	if err != nil {
		return err
	}
	s := newSheaf(set, size, "Job sheet")
	s.page()
	s.opening(set)
	s.stock(set)
	s.cautions(set)
	if set.Machine.Process != machine.Shop {
		s.machines(func() {
			s.settings(set)
			s.extents(set)
		})
	}
	s.sheets(set)
	s.bill(set)
	s.order(set)
	s.dimensions(set)
	s.bonding(set)
	s.assembling(set)
	s.setting(set)
	s.laying(set)
	s.marking(set)
	s.care(set)
	s.tapeCard(set)
	s.asMarked(set)
	return s.finish(w)
}

// machines writes what is set on a machine: in mm, whatever people read first.
func (s *sheaf) machines(write func()) {
	first := s.inches
	s.inches = false
	write()
	s.inches = first
}

// opening writes the title, the table and what the checks say.
func (s *sheaf) opening(set post.Set) {
	s.title(set)
	s.tableFigure(set, s.width(), plan{templates: set.Templates(), marks: set.Marks, pieces: true, contacts: true})
	s.verdicts(set)
}

// title writes the job's name and what it is.
func (s *sheaf) title(set post.Set) {
	s.font("B", 18)
	s.put(s.margin, s.y+6.5, s.fitted(clean(set.Title()), s.width()))
	s.y += 10
	serves := "serves playing surfaces " + figure.Between(set.Jig.LengthMin, set.Jig.LengthMax) + " long"
	if set.Job.Jig.For == job.ForThis {
		serves = "THIS TABLE ONLY"
	}
	about := fmt.Sprintf("Spotting jig for %s %s by %s, nose to nose; %s. Games: %s.", post.Parts(", ", clean(set.Table.Name), "playing surface"),
		figure.Length(set.Table.L), figure.Length(set.Table.W), serves, strings.Join(set.Job.Games, ", "))
	if day := clean(set.Job.Date); day != "" {
		about += " Job of " + day + "."
	}
	s.para(about)
	if says := set.Says("length-trade"); says != "" {
		s.para(capital(clean(says)) + ".")
	}
	if n := clean(set.Job.Notes); n != "" {
		s.para("Notes: " + n)
	}
}

// verdicts lists what did not simply pass. Checks of one kind (the part of the
// id before a colon) share a line, or twenty marks would fill the page.
func (s *sheaf) verdicts(set post.Set) {
	n := set.Tally()
	s.sub(fmt.Sprintf("Checks: %d failed, %d warned, %d passed", n[jig.Fail], n[jig.Warn], n[jig.Pass]), 6)
	for _, v := range []jig.Verdict{jig.Fail, jig.Warn} {
		var kinds []string
		texts := map[string][]string{}
		for _, c := range set.Checks {
			if c.Verdict == v {
				kind, _, _ := strings.Cut(clean(c.ID), ":")
				if texts[kind] == nil {
					kinds = append(kinds, kind)
				}
				texts[kind] = append(texts[kind], clean(c.Text)+c.Figures())
			}
		}
		for _, k := range kinds {
			s.bullet(map[jig.Verdict]string{jig.Fail: "X", jig.Warn: "!"}[v], strings.ToUpper(string(v))+", "+k+": "+strings.Join(texts[k], "; "))
		}
	}
	if n[jig.Fail] > 0 {
		s.font("B", 11)
		s.keep(8)
		s.font("B", 11)
		s.put(s.margin, s.y+4, "A check failed. Do not cut.")
		s.y += 7
	}
}

// stock writes what is cut from what.
func (s *sheaf) stock(set post.Set) {
	s.heading("What is cut from what")
	m := set.Material
	sheet := capital(clean(m.Called())) + ", " + post.ThicknessOf(m)
	if set.Machine.Process == machine.Knife {
		s.para(sheet + ". Blade side up is face up: the lettering is on it. A blade takes no width away.")
	} else {
		s.para(sheet + fmt.Sprintf("; kerf: width of cut at the underside %s mm, plus or minus %s. Beam side up is face up: the lettering is on it.", figure.Short(m.Kerf, 3), figure.Short(m.KerfPM, 3)))
	}
	if set.Machine.Process == machine.Shop {
		text := "A shop cuts: it gets the drawings, " + drawnAs(set) + ". "
		if !set.Material.Measured {
			text += "Order in two steps: plates without fin slots first; fins, and plates with slots for them, only once the thickness of the shop's sheet is measured, written into the job with ordered: plates, and the job is made again. "
		}
		s.para(text + orderNow(set))
	}
	rows := [][]string{{"Sheet", s.inUnits("Stock"), "Pieces", "Used", "Time", "Files"}}
	for i, sh := range set.Sheets {
		files, t := set.DrawingName(sh.N, "")+".dxf", "-"
		if set.Held(i) {
			files = "none yet: second step"
		}
		if set.Ordered(i) {
			files = "ordered already: first step"
		}
		if set.Machine.Process != machine.Shop {
			files, t = files+fmt.Sprintf(", sheet-%d.nc, -dryrun.nc, -edges.nc", sh.N), figure.Time(sh.Time)
		}
		rows = append(rows, []string{strconv.Itoa(sh.N), s.sides(sh), pieceNames(sh), figure.Share(sh.UsedFraction), t, files})
	}
	shares := []float64{8, 14, 34, 7, 14, 46}
	if s.inches {
		shares = []float64{8, 33, 19, 7, 13, 44}
	}
	s.table(shares, rows)
	if text := set.SharedWith(); text != "" {
		s.para(text)
	}
	if t := set.Time(); t > 0 {
		s.para("All sheets together about " + figure.Time(t) + " of machine time, setting up not counted.")
	}
	if n := set.Job.Copies; n > 1 {
		s.para(fmt.Sprintf("%d copies: every sheet is cut %d times. What is stated for a sheet is for one; what it takes, below, is for all.", n, n))
	}
}

// bill writes what all copies take.
func (s *sheaf) bill(set post.Set) {
	lines, total := set.Bill()
	s.headingOver("What it takes", 9+7*float64(len(lines)+1))
	shares := []float64{40, 62, 16}
	rows := [][]string{{"What", "How much", "Cost"}}
	for _, l := range lines {
		cost := "-"
		if l.Cost > 0 {
			cost = figure.Fixed(l.Cost, 2)
		}
		rows = append(rows, []string{clean(l.What), clean(l.Much), cost})
	}
	s.table(shares, rows)
	if total > 0 {
		s.para("Together " + figure.Fixed(total, 2) + ", in the money of the job's prices; what has no price is not in it.")
	}
}

// orderNow says which sheets may be ordered as the job stands.
func orderNow(set post.Set) string {
	var before, now, later []string
	for i, sh := range set.Sheets {
		switch n := strconv.Itoa(sh.N); {
		case set.Held(i):
			later = append(later, n)
		case set.Ordered(i):
			before = append(before, n)
		default:
			now = append(now, n)
		}
	}
	switch {
	case len(before) > 0:
		return "Ordered already, and not again: sheet " + strings.Join(before, ", ") + ". Now, the second step: sheet " + strings.Join(now, ", ") + "."
	case len(later) == 0:
		return "The thickness is measured: all sheets may be ordered."
	case len(now) == 0:
		return "Nothing may be ordered yet: every sheet has slots or fins on it."
	}
	return "Now: sheet " + strings.Join(now, ", ") + ". Held back, without a drawing: sheet " + strings.Join(later, ", ") + "."
}

func pieceNames(sh post.Sheet) string {
	var out []string
	for _, p := range sh.Placed {
		out = append(out, clean(p.ID))
	}
	return strings.Join(out, ", ")
}

func (s *sheaf) cautions(set post.Set) {
	if len(set.Cautions) == 0 {
		return
	}
	s.heading("Cautions that apply to this job")
	s.numbered(set.Cautions)
}

// settings writes power and speed with who proved them.
func (s *sheaf) settings(set post.Set) {
	s.heading("Settings on " + clean(set.Machine.Name))
	knife := set.Machine.Process == machine.Knife
	head := []string{"For", "Power word S", "Feed, mm/min", "Passes", "Proved on this machine by, when"}
	if knife {
		head[1] = "Depth Z, mm"
	}
	rows := [][]string{head}
	m := set.Material
	unproven := false
	for _, k := range []struct {
		name string
		set  machine.Setting
	}{{"lettering", m.Letter}, {"score", m.Score}, {"cut", m.Cut}} {
		first, proven := figure.Short(k.set.Power, 1), clean(k.set.Proven)
		if knife {
			first = figure.Short(k.set.Depth, 3)
		}
		if proven == "" {
			proven, unproven = "NOT PROVEN", true
		}
		rows = append(rows, []string{k.name, first, figure.Short(k.set.Feed.PerMinute(), 0), strconv.Itoa(k.set.Passes), proven})
	}
	s.table([]float64{14, 18, 18, 10, 50}, rows)
	if unproven {
		s.para("What is not proven is a guess: cut the test coupon first, and write who proved it and when into the job.")
	}
	if knife {
		k := set.Machine.Knife
		s.para(fmt.Sprintf("Blade: trails the pivot by %s mm; up at Z %s, in the skin at Z %s, floor Z %s. Z zero is the upper face of the sheet.", figure.Short(k.Offset, 3), figure.Short(k.ZUp, 2), figure.Short(k.ZSkin, 2), figure.Short(k.ZFloor, 2)))
	}
	s.para(set.FileName("job.yaml") + ", beside this sheet, holds every value that the set was made with, and marks those that nobody stated.")
}

// extents writes bounds, origin and start.
func (s *sheaf) extents(set post.Set) {
	s.heading("Extents, origin and start")
	m := set.Machine
	start := "at the work zero"
	if m.Park != nil {
		start = fmt.Sprintf("at machine X %s Y %s Z %s", figure.Short(m.Park.X, 1), figure.Short(m.Park.Y, 1), figure.Short(m.Park.Z, 1))
	}
	s.para(fmt.Sprintf("Units mm. The work zero is the lower left corner of the sheet, +X right, +Y up; face up. The programs expect the head to start %s. Machine travel X %s to %s, Y %s to %s; %s mm are kept free inside it.",
		start, figure.Short(m.Min.X, 1), figure.Short(m.Max.X, 1), figure.Short(m.Min.Y, 1), figure.Short(m.Max.Y, 1), figure.Short(m.MarginBed, 1)))
	on := "Beam on" // a dry run times beams; of a blade it knows no more than the whole
	if set.Machine.Process == machine.Knife {
		on = "Time"
	}
	rows := [][]string{{"Sheet", "X from", "X to", "Y from", "Y to", "Cut", "Travel", "Longest travel", on}}
	for _, sh := range set.Sheets {
		b, t := sh.Bounds, sh.BeamOn
		if set.Machine.Process == machine.Knife {
			t = sh.Time
		}
		rows = append(rows, []string{strconv.Itoa(sh.N), figure.Tenth(b.Min.X), figure.Tenth(b.Max.X), figure.Tenth(b.Min.Y), figure.Tenth(b.Max.Y),
			figure.Metres(sh.CutLen), figure.Metres(sh.TravelLen), figure.MM(longestTravel(set, sh)), figure.Time(t)})
	}
	s.table([]float64{8, 11, 11, 11, 11, 12, 12, 18, 16}, rows)
	s.para("No program here looks at clamps beyond those in the machine profile, at focus, at the power that really arrives, or at what lies on the bed. You do.")
}

// longestTravel is the longest move between two cuts, and to the first one.
func longestTravel(set post.Set, sh post.Sheet) float64 {
	at := set.Machine.StandsAt()
	longest := 0.0
	for _, o := range sh.Path.Ops {
		if len(o.Moves) == 0 {
			continue
		}
		longest = math.Max(longest, at.Dist(o.Moves[0].From))
		at = o.Moves[len(o.Moves)-1].To
	}
	return longest
}

// sheets draws every sheet, two beside each other.
func (s *sheaf) sheets(set post.Set) {
	const gap, under, highest = 6.0, 8.0, 110.0
	w := (s.width() - gap) / 2
	first := 0.0
	for _, sh := range set.Sheets[:min(2, len(set.Sheets))] {
		first = math.Max(first, math.Min(w*sh.Height/sh.Width, highest))
	}
	s.headingOver("The sheets", headingRoom/2+first+under)
	for i := 0; i < len(set.Sheets); i += 2 {
		pair := set.Sheets[i:min(i+2, len(set.Sheets))]
		h := 0.0
		for _, sh := range pair {
			h = math.Max(h, math.Min(w*sh.Height/sh.Width, highest))
		}
		s.keep(h + under + 6)
		for k, sh := range pair {
			x := s.margin + float64(k)*(w+gap)
			area := geom.Box{Min: geom.Point{X: x, Y: s.y}, Max: geom.Point{X: x + w, Y: s.y + h}}
			s.sheetFigure(set, sh, area)
			s.font("", cellSize)
			s.put(x+12, s.y+h+4, s.units(fmt.Sprintf("Sheet %d, %s, %s", sh.N, figure.Sheet(sh.Width, sh.Height), figure.Count(len(sh.Placed), "piece"))))
		}
		s.y += h + under
	}
	if set.Machine.Process != machine.Shop {
		s.para("Dashed: the extents of the cut, lead-ins included.")
	}
}

// order writes the order of work with boxes to tick.
func (s *sheaf) order(set post.Set) {
	s.heading("Order of work")
	if set.Machine.Process == machine.Shop {
		for _, t := range ordering(set) {
			s.tick(t)
		}
		return
	}
	s.sub("Before the first sheet", 12)
	for _, t := range beforeFirst(set) {
		s.tick(t)
	}
	s.sub("Each sheet, left to right", 20)
	rows := [][]string{{"Sheet", "Laid flat, held", "Zero set", "Edges run on the sheet", "Dry run clear", "Cut", "Freed pieces all there", "Started", "Ended"}}
	for _, sh := range set.Sheets {
		rows = append(rows, []string{strconv.Itoa(sh.N), "[]", "[]", "[]", "[]", "[]", "[]", "", ""})
	}
	s.table([]float64{8, 13, 10, 15, 12, 8, 15, 13, 13}, rows)
	s.sub("After the last sheet", 12)
	for _, t := range afterLast(set) {
		s.tick(t)
	}
}

// drawnAs tells a shop what its drawings show.
func drawnAs(set post.Set) string {
	if set.Compensated() {
		return "with a kerf of " + figure.Short(set.Material.Kerf, 3) + " mm taken already, to be cut on the line"
	}
	return "at nominal size, to be cut with the shop's own kerf"
}

// ordering is what is done, in order, where a shop cuts.
func ordering(set post.Set) []string {
	out := []string{"Supplier's data sheet for this material read; it is what this sheet says."}
	switch {
	case set.AtOnce():
		out = append(out, "Ordered from the drawings: "+drawnAs(set)+", face up, not mirrored; from the sheet or batch whose thickness this job states. No plates of this jig were ordered before.")
	case set.Material.Measured:
		out = append(out, "First step ordered and arrived: plates without fin slots. Their thickness"+fourPlaces+", mean as this job states.",
			"Second step ordered from the drawings: fins, and plates with fin slots, "+drawnAs(set)+", face up, not mirrored; from the same sheet or batch. The first step is not cut twice.")
	default:
		out = append(out, "First step ordered from the drawings, plates without fin slots: "+drawnAs(set)+", face up, not mirrored.",
			"Plates arrived: thickness measured"+fourPlaces+", the mean of them written into the job, in material, as thickness, and ordered: plates beside it, so that what is ordered stays where it lies; the shop's word that the rest comes from the same sheet or batch; job made again.",
			"Second step ordered from the drawings made again: fins, and plates with fin slots. The first step is not cut twice.")
	}
	return append(out, "Pieces counted: "+strconv.Itoa(len(set.Jig.Parts))+" in all.", "Check dimensions measured, next section.")
}

// fourPlaces is how a sheet's thickness is measured, with room to write.
const fourPlaces = " with a caliper at four places, without masking or backing: ______ ______ ______ ______ mm"

// thickTold is how far a sheet may be from the thickness in the job before fits made for it
// are off, mm: the play of a fin's slot; and of thin film a share, or the blade's depth is
// wrong. Common practice.
func thickTold(t float64) float64 { return math.Min(0.1, t*0.15) }

func beforeFirst(set post.Set) []string {
	out := []string{
		"Supplier's data sheet for this material read; it is what this sheet says. Thickness measured" + fourPlaces + ", their mean within " + figure.Fixed(thickTold(set.Material.Thickness), 2) + " mm of the " + figure.Short(set.Material.Thickness, 2) + " mm in this job, or the job made again.",
		"Who stays beside the machine from the first cut to the last: ______________________",
	}
	if set.Machine.Process == machine.Knife {
		return append(out,
			"Mat clean and flat, sheet stuck down to its edges; hands off the bed while it moves.",
			"Blade sharp, exposed by the sheet's thickness and a little; cap put by for afterwards.",
			"Homed; soft limits on; work zero set at the sheet's lower left corner, Z zero on its upper face.",
			"Edges program run with the blade up: the rectangle stays on the sheet.",
			"Dry run of each sheet watched: the blade stays up throughout.")
	}
	return append(out,
		"Fire watch: extinguisher in reach, bed and tray clean, nothing that burns near.",
		"Fume: extraction on, air assist on, lid closes and its switch works.",
		"Eyes: whoever can see into the machine is protected for its wavelength"+wavelength(set)+".",
		"Masking film on both faces, or air assist strong enough to keep the cut clean.",
		"Homed; soft limits on; work zero set at the sheet's lower left corner.",
		"Focus set on this sheet, beam off, with the machine's own gauge, to the height at which the settings were proved: ______ mm; the head clears sheet and clamps at that height.",
		"First time on this machine, or after any change to it: first-light test (check.nc) run on an offcut, lid shut. Seen: a square of 40 mm with no beam, one tick of 10 mm that is faint or not there, the head back at the work zero, dark. If the beam is on in the square or in travel, or the tick is cut: emergency stop. The controller does not take programs as these are written ("+set.Machine.Says()+"): change the machine's program section, run nothing else.",
		"Edges program run, beam off: the rectangle stays on the sheet and clear of clamps.",
		"Dry run of each sheet watched, beam off: nothing is touched, nothing is hit.")
}

func wavelength(set post.Set) string {
	if set.Machine.Wavelength <= 0 {
		return ""
	}
	return " (" + figure.Short(set.Machine.Wavelength, 0) + " nm)"
}

func afterLast(set post.Set) []string {
	out := []string{"Pieces counted: " + strconv.Itoa(len(set.Jig.Parts)) + " in all; slugs out of the bed."}
	if set.Machine.Process == machine.Knife {
		out[0] = "Pieces counted: " + strconv.Itoa(len(set.Jig.Parts)) + " in all; what fell out is off the mat."
		return append(out, "Blade up, power off, blade capped.", "Check dimensions measured, next section.")
	}
	return append(out, "Extraction left running after the last cut, lid shut meanwhile, as the cautions say.",
		"Bed looked at again for glow and smoke before anyone leaves.", "Check dimensions measured, next section.")
}

// dimensions writes what to measure after cutting, with the limits.
func (s *sheaf) dimensions(set post.Set) {
	s.heading("Check dimensions, after cutting")
	ticked := figure.Short(500*jig.ScaleAllowed(set.Machine), 2)
	text := "Measure sizes on the underside with a caliper, what is longer than it with a steel rule, to half a millimetre; tick distances with the rule on the face, where they are scored; at the temperature of the shop. "
	if set.Machine.Process == machine.Knife {
		text += fmt.Sprintf("Sizes and tick distances may differ by what the error budget allows the machine's scale, %s mm in 500. ", ticked)
	} else {
		text += fmt.Sprintf("Sizes may differ by what the kerf is uncertain, %s mm; tick distances by what the error budget allows the machine's scale, %s mm in 500. ", figure.Short(set.Material.KerfPM, 2), ticked)
	}
	if set.Job.Jig.CompensateGrowth {
		text += "Sizes are those where the pieces are cut; what is lettered on them holds in the hall. "
	}
	s.para(text + "Beyond that the budget no longer holds: find out why before you mark a table.")
	across := false
	rows := [][]string{{"Piece", "What it is", s.inUnits("Length"), "Measured", s.inUnits("Width"), "Measured", s.inUnits("Ticks apart"), "Measured"}}
	for _, p := range set.Jig.Parts {
		b := p.AtCutSize(p.Outline).Bounds() // which is what is measured
		size := func(mm float64) string {
			if s.inches {
				return figure.Inches(mm) + " (" + figure.Short(mm, 2) + ")"
			}
			return figure.Short(mm, 2)
		}
		apart := ""
		if mm := ticks(p); mm > 0 {
			apart = figure.Fixed(mm, 2)
			if s.inches {
				apart = size(mm)
			}
			across = across || mm > math.Max(b.Width(), b.Height())
		}
		rows = append(rows, []string{clean(p.ID), clean(string(p.Role)), size(math.Max(b.Width(), b.Height())), "", size(math.Min(b.Width(), b.Height())), "", apart, ""})
	}
	shares := []float64{9, 12, 13, 13, 13, 13, 15, 13}
	if s.inches {
		shares = []float64{8, 11, 20, 11, 20, 11, 20, 11}
	}
	s.table(shares, rows)
	over := "tails included"
	if lapped(set) {
		over = "laps included"
	}
	if hasBoxes(set) {
		over += "; boxes are measured flat"
	}
	if across {
		over += ". Ticks further apart than their piece is long lie on it and on the next: put those together, then measure across the joint"
	}
	s.para("Lengths and widths run over everything, " + over + ".")
}

// ticks is how far a member's check ticks are cut apart, 0 for none: the distance that is
// lettered, which holds in the hall, times what the piece is scaled by.
func ticks(p jig.Part) float64 {
	for _, t := range p.Text {
		if mm := jig.TicksApart(t); mm > 0 {
			return mm * p.CutScale()
		}
	}
	return 0
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
