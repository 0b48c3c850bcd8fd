package job

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/problem"
)

// Limits of texts and lists in a job, in characters and items. A name is lettered
// on pieces and stands in every file's head; notes stand on the job sheet.
const (
	nameMax   = 60
	copiesMax = 100
	notesMax  = 500
	exprMax   = 200 // of a house mark's position, as layout reads it
	gamesMax  = 12
	houseMax  = 200
	alsoMax   = 50 // other tables of one job
)

// Options is what reading a job needs to know from elsewhere.
type Options struct {
	// Games are the ids of the games that are known; nil: those of layout.
	Games []string
}

// Read reads and resolves a job file. name is only used to name the file in
// faults; nothing is opened: a machine or material that the job names by file is
// for cam/machine to load.
//
// With a survey the table's L, W and Corners are left zero, for layout to fit.
// The notes are things to know that do not stop the job, in file order. The
// error is a problem.List, or a problem.Problem when the file could not be
// parsed at all.
func Read(name string, data []byte, opt Options) (Job, problem.List, error) {
	sec, err := Parse(name, data)
	if err != nil {
		return Job{}, nil, err
	}
	if opt.Games == nil {
		for _, g := range layout.Games() {
			opt.Games = append(opt.Games, g.ID)
		}
	}
	var faults problem.List
	r := reader{top: Open(sec, &faults), games: opt.Games}
	j := r.job()
	j.File, j.Ledger = name, sec.ledger
	if err := faults.Err(); err != nil {
		return Job{}, nil, err
	}
	return j, append(r.notes.Sorted(), j.Ledger.Idle()...).Each(), nil
}

// reader reads one job.
type reader struct {
	top   *Fields
	games []string
	notes problem.List
}

// job reads the sections in the order of the file that "spotjig new" writes.
func (r *reader) job() Job {
	f := r.top
	assumedList(f)
	j := Job{
		Name:  f.Text("name", "", nameMax),
		Date:  date(f, "date"),
		Notes: notes(f),
		Units: f.Word("units", UnitsMM, UnitsMM, UnitsInch),
	}
	j.Games = r.gameList()
	r.table(&j)
	j.Choices = choices(f.Sub("choices"))
	j.Balls = balls(f.Sub("balls"), j.Games)
	j.Jig, j.Choices.Rack = jigSection(f.Sub("jig"))
	j.House = house(f)
	j.Also = alsoTables(f)
	j.Copies = f.Whole("count", Range{Default: 1, Min: 1, Max: copiesMax})
	j.DXF = f.Word("dxf", "nominal", "nominal", "compensated")
	j.Colours = colours(f.Sub("colours"))
	j.Material = f.Section("material")
	j.Machine = f.Section("machine")
	j.Made = made(f.Sub("made"))
	f.Unsettle("made") // of the file, not of the job
	f.Done()
	return j
}

// IsColour tells whether a text is a colour as a job has it once it is read: "#ff0000".
func IsColour(c string) bool {
	return len(c) == 7 && c[0] == '#' && strings.Trim(c[1:], "0123456789abcdef") == ""
}

// colours reads the colours of what is cut.
func colours(f *Fields) Colours {
	defer f.Done()
	one := func(key, def string) string {
		f.Note(Key{Path: key, Form: "colour", Limits: "# and two digits each, 0-9 and a-f, for red, green and blue", Default: def})
		c := strings.ToLower(f.Text(key, def, wordMax))
		if c == "" {
			return def
		}
		if !IsColour(c) {
			f.Fault(key, "J008", fmt.Sprintf("%q is no colour", c), `write red, green and blue as two digits each of 0-9 and a-f: "#ff0000", in quotes`)
			return def
		}
		return c
	}
	return Colours{Lettering: one("lettering", "#000000"), Score: one("score", "#008000"), Opening: one("opening", "#0000ff"), Outline: one("outline", "#ff0000")}
}

// made reads what a set's own job file says that the set was made with.
func made(f *Fields) Made {
	defer f.Done()
	m := Made{
		Version: f.Text("version", "", nameMax),
		What:    f.Word("what", "template", "template", "test piece"),
		Grid:    f.Yes("grid", false),
		Paper:   f.Word("paper", "a4", "a4", "letter"),
		ProofOf: f.Word("proof_of", "template", "template", "marks"),
		SVG:     f.Yes("svg", false),
		Stock:   offcut(f, "stock"),
	}
	if m.Version == "" {
		for _, key := range []string{"what", "grid", "paper", "proof_of", "svg", "stock"} {
			f.Idle(key, "only of a file that spotjig wrote, with made.version in it, is it taken", "remove the section; say it on the command line")
		}
	}
	return m
}

// List is a file that names the jobs of which the pieces share the sheets of a folder.
type List struct {
	Made Made
	Jobs []Listed
}

// Listed is one of them: the letter that begins the names of its pieces and files.
type Listed struct{ Letter, File, Name string }

// listMax is how many jobs a list names at most.
const listMax = 1000

// ReadList reads such a file. A job's own file is named by its letter, so that no list
// leads out of its folder. The error is a problem.List.
func ReadList(file string, data []byte) (List, error) {
	top, err := Parse(file, data)
	if err != nil {
		return List{}, err
	}
	var faults problem.List
	f := Open(top, &faults)
	l := List{Made: made(f.Sub("made"))}
	for _, item := range f.Items("jobs", listMax) {
		one := Listed{Letter: item.Text("letter", "", 3), File: item.Text("file", "", wordMax), Name: item.Text("name", "", nameMax)}
		item.Done()
		if strings.Trim(one.Letter, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") != "" || one.Letter == "" || one.File != strings.ToLower(one.Letter)+"-job.yaml" {
			item.Fault("file", "J008", fmt.Sprintf("%q is not the file of job %q", one.File, one.Letter), "a job's file is named by its letter: {letter: A, file: a-job.yaml}")
		}
		l.Jobs = append(l.Jobs, one)
	}
	f.Done()
	if l.Made.Version == "" || len(l.Jobs) == 0 {
		faults.Add(problem.Problem{File: file, Field: "made", Code: "F031", Msg: "does not say what the folder was made with", Help: "make the folder again"})
	}
	return l, faults.Err()
}

// offcut reads a piece of sheet as width and height, "300 mm x 200 mm".
func offcut(f *Fields, key string) Offcut {
	text := f.Text(key, "", wordMax)
	if text == "" {
		return Offcut{}
	}
	o, err := ParseOffcut(text)
	if err != nil {
		f.Fault(key, "J008", err.Error(), "write width and height: 300x200")
	}
	return o
}

// ParseOffcut reads "300x200", in mm or with units, each from 20 mm to 3000 mm.
func ParseOffcut(text string) (Offcut, error) {
	wide, high, ok := strings.Cut(strings.ToLower(text), "x")
	w, errw := ParseLength(strings.TrimSpace(wide))
	h, errh := ParseLength(strings.TrimSpace(high))
	if !ok || errw != nil || errh != nil || !(min(w, h) >= offcutMin && max(w, h) <= offcutMax) {
		return Offcut{}, fmt.Errorf("%q is not width x height, each from %d to %d mm", text, offcutMin, offcutMax)
	}
	return Offcut{w, h}, nil
}

// The sides of an offcut, mm: smaller holds no piece of a test, larger is a sheet.
const (
	offcutMin = 20
	offcutMax = 3000
)

// date returns a day as YYYY-MM-DD, which must exist.
func date(f *Fields, key string) string {
	f.Note(Key{Path: key, Form: "date", Limits: "year-month-day"})
	text := f.Text(key, "", wordMax)
	if text == "" {
		return ""
	}
	if _, err := time.Parse("2006-01-02", text); err != nil {
		f.Fault(key, "J009", fmt.Sprintf("%q is not a day of the calendar", text), "write year, month and day: 2026-11-20")
		return ""
	}
	return text
}

// notes returns the notes on one line: line ends become blanks.
func notes(f *Fields) string {
	f.Note(Key{Path: "notes", Form: "text", Limits: fmt.Sprintf("at most %d characters", notesMax)})
	e, ok := f.look("notes")
	if !ok {
		return ""
	}
	text, ok := scalarText(e.value)
	if !ok {
		f.Fault("notes", "J002", "one text is wanted here, not a list or keys", "write notes: text")
		return ""
	}
	text = strings.Join(strings.Fields(text), " ")
	if msg := textFault(text, notesMax); msg != "" {
		f.Fault("notes", "J004", msg, "use letters, digits, blanks and marks")
		return ""
	}
	f.Settle("notes", Quote(text))
	return text
}

// gameList reads the games: at least one, each known and named once.
func (r *reader) gameList() []string {
	f := r.top
	items := f.List("games", gamesMax)
	if len(items) == 0 {
		if !f.reported("games") && !f.misspelt("games") {
			f.Fault("games", "J012", "no games are chosen", "write games: [pool, snooker]; known: "+strings.Join(r.games, ", "))
		}
		return nil
	}
	var out []string
	for _, it := range items {
		id, ok := it.Word()
		id = strings.ToLower(strings.TrimSpace(id))
		fault := problem.Problem{File: it.File, Line: it.Line, Col: it.Col, Field: it.Path, Code: "J012", Help: "known: " + strings.Join(r.games, ", ")}
		switch {
		case !ok:
			fault.Msg = "a game's name is wanted here"
		case slices.Contains(out, id):
			fault.Msg, fault.Help = fmt.Sprintf("%q is named twice", id), "name each game once"
		case !slices.Contains(r.games, id):
			fault.Msg = fmt.Sprintf("unknown game %q", oneLine(id))
			if n := problem.Nearest(id, r.games); n != "" {
				fault.Msg += fmt.Sprintf("; did you mean %q?", n)
			}
		default:
			out = append(out, id)
			continue
		}
		f.faults.Add(fault)
	}
	f.Settle("games", QuotedList(out))
	return out
}

// reported tells whether a fault was reported at the key's value.
func (f *Fields) reported(key string) bool {
	p := f.Problem(key, "", "", "")
	return slices.ContainsFunc(*f.faults, func(q problem.Problem) bool { return q.Field == p.Field })
}

// choices reads what is the fitter's to choose; the rack is under jig.
func choices(f *Fields) layout.Choices {
	defer f.Done()
	return layout.Choices{
		BaulkLine: f.Word("baulk_line", "scaled", "head-string", "scaled", "fifth", "both"),
		D:         f.Word("d", "width/6", "width/6", "scaled"),
		Black:     f.Word("black", "length/11", "length/11", "scaled"),
		BreakBox:  f.Word("break_box", "none", "none", "epbf", "norway"),
		Anchor:    f.Word("anchor", "", "none", "7in", "9in"),
		MinApart:  f.Length("min_apart", Range{Default: 8, Min: 0, Max: 100}),
	}
}

// balls reads the set played with, by default what the games usually are.
func balls(f *Fields, games []string) layout.Balls {
	defer f.Done()
	usual := layout.UsualBalls(games)
	return layout.Balls{
		Diameter: f.Length("diameter", Range{Default: usual.Diameter, Min: 25, Max: 100}),
		Reds:     f.Whole("reds", Range{Default: float64(usual.Reds), Min: 1, Max: 15}),
		RackWall: f.Length("rack_wall", Range{Min: 0, Max: 40}),
	}
}

// What is left beside a joint's tail, square to a flank, unless a test piece tells: a
// dovetail's clearance, and what a key, which takes it up, leaves (common practice), mm.
const (
	DovetailSlip = 0.08
	KeyedSlip    = 0.03
)

// jigSection reads what is asked of the template, and the rack's form.
func jigSection(f *Fields) (Jig, string) {
	defer f.Done()
	var j Jig
	j.For = f.Word("for", ForClass, ForClass, ForThis)
	m := f.Sub("marker")
	j.MarkerTip = m.Length("tip", Range{Default: 0.7, Min: 0.1, Max: 5})
	j.MarkerGuide = m.Length("guide", Range{Default: 2.8, Min: 0.3, Max: 15})
	if j.MarkerGuide < j.MarkerTip {
		m.Fault("guide", "J018", fmt.Sprintf("%s at plate height is thinner than the %s line it draws", figure.MM(j.MarkerGuide), figure.MM(j.MarkerTip)),
			"measure the tool's thickness where it passes the plate")
	}
	m.Done()
	j.Spots = f.Word("spots", SpotsPoint, SpotsPoint, SpotsSticker)
	j.Sticker = f.Length("sticker", Range{Default: 31.75, Min: 5, Max: 80}) // 1 1/4 in, a how-to on marking tables
	if j.Spots != SpotsSticker {
		f.Idle("sticker", "spots are holes for the tool, not for adhesive spots", "write spots: sticker beside it, or remove it")
	}
	rack := f.Word("rack", "corners", "corners", "outline")
	j.Tolerance, j.Tolerances = f.lengthOrEach("tolerance", Range{Default: 1, Min: 0.1, Max: 10})
	j.ToleranceStated = f.Has("tolerance") && j.Tolerances == nil
	j.NosePM = f.Length("nose_contact", Range{Default: 0.3, Min: 0, Max: 3})
	j.SeatPM = f.Length("fin_seat", Range{Default: 0.1, Min: 0, Max: 1})
	j.SeatStated = f.Has("fin_seat")
	j.ReadingPM = f.Length("side_reading", Range{Default: 0.25, Min: 0, Max: 1}) // half a tick
	j.SightPM = f.Length("sighting", Range{Default: 0.2, Min: 0, Max: 1})
	j.ClosurePM = f.Length("joint_closure", Range{Default: 0.05, Min: 0, Max: 0.5})
	j.Fit = f.Word("fit", "slide", "press", "slide", "loose")
	j.Joint = f.Word("joint", JointDovetail, JointDovetail, JointKeyed)
	usual := DovetailSlip
	if j.Joint == JointKeyed {
		usual = KeyedSlip
	}
	j.SlipPM = f.Length("joint_slip", Range{Default: usual, Min: 0, Max: 0.5})
	j.SlipStated = f.Has("joint_slip")
	j.FinFix = f.Word("fins", "bonded", "bonded", "screwed")
	j.Settings = f.Yes("settings", false)
	if j.Settings && j.For == ForThis {
		f.Idle("settings", "a jig for this table alone is not set to other lengths", "write for: class, or remove it")
	}
	t := f.Sub("ties")
	j.Ties = t.Whole("count", Range{Default: 0, Min: 0, Max: 20})
	j.TieWidth = t.Length("width", Range{Default: 0.5, Min: 0.1, Max: 5})
	if j.Ties == 0 {
		t.Idle("width", "no ties are asked for", "give ties.count, or remove it")
	}
	t.Done()
	j.PieceMax = f.Length("piece_max", Range{Default: 0, Min: 100, Max: 4000})
	j.SpareFins = f.Yes("spare_fins", false)
	j.Letters = f.Word("letters", "full", "full", "short", "none")
	j.SideTravel = f.Length("side_travel", Range{Default: 5, Min: 1, Max: 60})
	j.ShopTempC = f.Number("shop_temperature", Range{Default: 20, Min: -20, Max: 60}, "°C", "C")
	j.HallTempC = f.Number("hall_temperature", Range{Default: 20, Min: -20, Max: 60}, "°C", "C")
	j.ShopRH = f.Number("shop_humidity", Range{Default: 50, Min: 0, Max: 100}, "%")
	j.HallRH = f.Number("hall_humidity", Range{Default: 50, Min: 0, Max: 100}, "%")
	j.TemperatureStated, j.HumidityStated = f.Has("hall_temperature"), f.Has("hall_humidity")
	j.CompensateGrowth = f.Yes("compensate_growth", false)
	return j, rack
}

// house reads the job's own marks. What their positions mean is layout's to say.
func house(f *Fields) []layout.HouseMark {
	var out []layout.HouseMark
	for _, m := range f.Items("house", houseMax) {
		for _, key := range []string{"x", "y", "x2", "y2", "radius"} {
			m.Note(Key{Path: key, Form: "position", Limits: fmt.Sprintf("at most %d characters", exprMax), Most: exprMax})
		}
		h := layout.HouseMark{
			ID:   m.Text("id", "", wordMax),
			Name: m.Text("name", "", nameMax),
			Kind: m.Word("kind", "", "spot", "line", "arc", "rectangle"),
			X:    m.Text("x", "", exprMax), Y: m.Text("y", "", exprMax),
			X2: m.Text("x2", "", exprMax), Y2: m.Text("y2", "", exprMax),
			Radius: m.Text("radius", "", exprMax),
			Start:  m.Angle("start_deg", Range{Default: 0, Min: -360, Max: 360}),
			End:    m.Angle("end_deg", Range{Default: 360, Min: -360, Max: 720}),
		}
		for _, key := range houseNeeds(h.Kind) {
			if !m.There(key) {
				m.Missing(key, fmt.Sprintf("a house mark of kind %q needs %s", h.Kind, strings.Join(houseNeeds(h.Kind), ", ")))
			}
		}
		for _, key := range []string{"x2", "y2", "radius", "start_deg", "end_deg"} {
			if angle := h.Kind == "arc" && strings.HasSuffix(key, "_deg"); !angle && !slices.Contains(houseNeeds(h.Kind), key) {
				m.Idle(key, "a house mark of kind "+h.Kind+" has none", "remove it, or name another kind")
			}
		}
		m.Done()
		out = append(out, h)
	}
	return out
}

// alsoTables reads the other tables that the jig should serve.
func alsoTables(f *Fields) []AlsoTable {
	var out []AlsoTable
	for _, t := range f.Items("also_tables", alsoMax) {
		a := AlsoTable{
			Name: t.Text("name", "", nameMax),
			L:    t.Length("length", Range{Min: lengthSurfaceMin, Max: lengthSurfaceMax}),
			W:    t.Length("width", Range{Min: widthSurfaceMin, Max: widthSurfaceMax}),
		}
		for _, key := range []string{"name", "length", "width"} {
			if !t.There(key) {
				t.Missing(key, "write also_tables: [{name: table 2, length: 2540, width: 1270}]")
			}
		}
		t.Done()
		out = append(out, a)
	}
	return out
}

// houseNeeds lists the keys that a kind of house mark cannot do without.
func houseNeeds(kind string) []string {
	switch kind {
	case "line", "rectangle":
		return []string{"id", "kind", "x", "y", "x2", "y2"}
	case "arc":
		return []string{"id", "kind", "x", "y", "radius"}
	}
	return []string{"id", "kind", "x", "y"}
}
