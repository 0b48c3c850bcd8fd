package recorded

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/post"
	"spotjig/post/proof"
)

// recordTol is how far a number of the record may be off: half the last of six decimals, and a
// little for arithmetic.
const recordTol = 0.0000006

// File is one file of the folder to be, by name.
type File struct {
	Name string
	Data []byte
}

// told is record.json as README.md promises it to other programs: what a stranger's
// script would read it into. It shares nothing with the writer.
type told struct {
	Format   string         `json:"format"`
	Version  string         `json:"version"`
	Job      map[string]any `json:"job"`
	Machine  map[string]any `json:"machine"`
	Material map[string]any `json:"material"`
	Marks    []toldMark     `json:"marks"`
	Parts    []toldPart     `json:"parts"`
	Sheets   []toldSheet    `json:"sheets"`
	Checks   []toldCheck    `json:"checks"`
	Budgets  []toldBudget   `json:"budgets"`
	Serves   struct {
		LengthMin float64       `json:"length_min"`
		LengthMax float64       `json:"length_max"`
		Settings  []toldSetting `json:"settings"`
	} `json:"serves"`
	Files []toldFile `json:"files"`
}

type toldSetting struct {
	Template string   `json:"template"`
	Marks    []string `json:"marks"`
	Rows     []struct {
		Leaves int     `json:"leaves"`
		From   float64 `json:"from"`
		To     float64 `json:"to"`
		Left   float64 `json:"left"`
	} `json:"rows"`
}

type toldMark struct {
	ID       string       `json:"id"`
	Also     []string     `json:"also"`
	Name     string       `json:"name"`
	Games    []string     `json:"games"`
	Kind     string       `json:"kind"`
	X        *float64     `json:"x"`
	Y        *float64     `json:"y"`
	X2       *float64     `json:"x2"`
	Y2       *float64     `json:"y2"`
	Radius   *float64     `json:"radius"`
	StartDeg *float64     `json:"start_deg"`
	EndDeg   *float64     `json:"end_deg"`
	Points   [][2]float64 `json:"points"`
	Rule     string       `json:"rule"`
	Source   string       `json:"source"`
}

type toldPart struct {
	ID       string        `json:"id"`
	Template string        `json:"template"`
	Role     string        `json:"role"`
	Sheet    int           `json:"sheet"`
	Scale    float64       `json:"scale"`
	Outline  [][3]float64  `json:"outline"`
	Openings []toldOpening `json:"openings"`
	OnSheet  *struct {
		X       float64 `json:"x"`
		Y       float64 `json:"y"`
		TurnDeg float64 `json:"turn_deg"`
	} `json:"on_sheet"`
	OnTable struct {
		X       float64 `json:"x"`
		Y       float64 `json:"y"`
		Z       float64 `json:"z"`
		TurnDeg float64 `json:"turn_deg"`
		Upright bool    `json:"upright"`
	} `json:"on_table"`
}

type toldOpening struct {
	ID       string   `json:"id"`
	Kind     string   `json:"kind"`
	Mark     *string  `json:"mark"`
	X        *float64 `json:"x"`
	Y        *float64 `json:"y"`
	R        *float64 `json:"r"`
	X1       *float64 `json:"x1"`
	Y1       *float64 `json:"y1"`
	X2       *float64 `json:"x2"`
	Y2       *float64 `json:"y2"`
	CX       *float64 `json:"cx"`
	CY       *float64 `json:"cy"`
	StartDeg *float64 `json:"start_deg"`
	EndDeg   *float64 `json:"end_deg"`
	Width    *float64 `json:"width"`
}

type toldSheet struct {
	N         int     `json:"n"`
	Width     float64 `json:"width"`
	Height    float64 `json:"height"`
	Thickness float64 `json:"thickness"`
	Kerf      float64 `json:"kerf"`
	Files     struct {
		DXF    *string `json:"dxf"`
		NC     *string `json:"nc"`
		DryRun *string `json:"dryrun"`
		Edges  *string `json:"edges"`
	} `json:"files"`
	Bounds *struct {
		XMin float64 `json:"xmin"`
		YMin float64 `json:"ymin"`
		XMax float64 `json:"xmax"`
		YMax float64 `json:"ymax"`
	} `json:"bounds"`
	CutMM    float64  `json:"cut_mm"`
	TravelMM float64  `json:"travel_mm"`
	TimeS    float64  `json:"time_s"`
	Used     float64  `json:"used_fraction"`
	Others   []string `json:"others"`
}

type toldCheck struct {
	ID      string  `json:"id"`
	Verdict string  `json:"verdict"`
	Value   float64 `json:"value"`
	Limit   float64 `json:"limit"`
	Unit    string  `json:"unit"`
	Text    string  `json:"text"`
}

type toldBudget struct {
	Mark   string  `json:"mark"`
	Method string  `json:"method"`
	Worst  float64 `json:"worst"`
	Likely float64 `json:"likely"`
	Terms  []struct {
		Name   string  `json:"name"`
		Worst  float64 `json:"worst"`
		Likely float64 `json:"likely"`
		Common bool    `json:"common"`
	} `json:"terms"`
}

type toldFile struct {
	Name   string `json:"name"`
	Bytes  int    `json:"bytes"`
	SHA256 string `json:"sha256"`
}

// Record reads record.json back (id record): nothing but the keys of the contract, once
// each, and what they say of parts, openings, poses, placements, marks, sheets, checks,
// budgets, job, machine and material is the set's; it lists every other file with its
// length and SHA-256.
func Record(data []byte, set post.Set, files []File) jig.Check {
	c := jig.Check{ID: "record", Verdict: jig.Pass, Limit: recordTol, Unit: "mm"}
	if err := onceEach(json.NewDecoder(bytes.NewReader(data))); err != nil {
		return proof.Failed(c, "the record: "+err.Error())
	}
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	var r told
	if err := d.Decode(&r); err != nil {
		return proof.Failed(c, "the record: "+err.Error())
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return proof.Failed(c, "the record: something follows it")
	}
	if err := r.lists(files); err != nil {
		return proof.Failed(c, err.Error())
	}
	var err error
	if c.Value, err = r.tells(set); err != nil {
		return proof.Failed(c, err.Error())
	}
	c.Text = fmt.Sprintf("record read back: %s, %s, %s", figure.Count(len(r.Parts), "part"), figure.Count(len(r.Marks), "mark"), figure.Count(len(r.Files), "file"))
	return c
}

// onceEach reads a value and refuses a key that an object has twice: of two, readers take
// one or the other.
func onceEach(d *json.Decoder) error {
	t, err := d.Token()
	if err != nil {
		return err
	}
	open, isDelim := t.(json.Delim)
	if !isDelim {
		return nil
	}
	seen := map[string]bool{}
	for d.More() {
		if open == '{' {
			key, err := d.Token()
			if err != nil {
				return err
			}
			name, _ := key.(string)
			if seen[name] {
				return fmt.Errorf("the key %.40q stands twice", name)
			}
			seen[name] = true
		}
		if err := onceEach(d); err != nil {
			return err
		}
	}
	_, err = d.Token()
	return err
}

// lists holds the list of files against the files.
func (r told) lists(files []File) error {
	if len(r.Files) != len(files) {
		return fmt.Errorf("the record lists %d files, there are %d", len(r.Files), len(files))
	}
	byName := map[string]toldFile{}
	for _, f := range r.Files {
		byName[f.Name] = f
	}
	for _, f := range files {
		sum := sha256.Sum256(f.Data)
		if byName[f.Name] != (toldFile{f.Name, len(f.Data), hex.EncodeToString(sum[:])}) {
			return fmt.Errorf("the record does not list %s as it is", f.Name)
		}
	}
	return nil
}

// tells holds all else of the record against the set.
func (r told) tells(set post.Set) (worst float64, err error) {
	if len(r.Parts) != len(set.Jig.Parts) || len(r.Sheets) != len(set.Sheets) || len(r.Marks) != len(set.Marks) ||
		len(r.Checks) != len(set.Checks) || len(r.Budgets) != len(set.Jig.Budgets) {
		return 0, errors.New("the record has another number of parts, sheets, marks, checks or budgets")
	}
	if r.Version != set.Version {
		return 0, fmt.Errorf("the record is of version %.40q, not %q", r.Version, set.Version)
	}
	if err := sameResolved(r, set); err != nil {
		return 0, err
	}
	var d differ
	for i, p := range set.Jig.Parts {
		d.part(r.Parts[i], p, set)
	}
	for i := range set.Sheets {
		d.sheet(r.Sheets[i], set, i)
	}
	for i, m := range set.Marks {
		d.mark(r.Marks[i], m)
	}
	for i, w := range set.Checks {
		g := r.Checks[i]
		name := "check " + w.ID
		d.same(name, g.ID == w.ID && g.Verdict == string(w.Verdict) && g.Unit == w.Unit && g.Text == string([]rune(w.Text)))
		d.nums(name, []*float64{&g.Value, &g.Limit}, w.Value, w.Limit)
	}
	for i, w := range set.Jig.Budgets {
		d.budget(r.Budgets[i], w)
	}
	d.nums("serves", []*float64{&r.Serves.LengthMin, &r.Serves.LengthMax}, set.Jig.LengthMin, set.Jig.LengthMax)
	d.same("settings", len(r.Serves.Settings) == len(set.Jig.Settings))
	for i := range min(len(r.Serves.Settings), len(set.Jig.Settings)) {
		d.setting(r.Serves.Settings[i], set.Jig.Settings[i])
	}
	if d.at != "" {
		return d.worst, fmt.Errorf("the record differs at %s", d.at)
	}
	return d.worst, nil
}

// differ gathers differences; at names the first.
type differ struct {
	worst float64
	at    string
}

func (d *differ) same(name string, ok bool) {
	if !ok && d.at == "" {
		d.at = name
	}
}

// nums holds numbers, which must all be there, against those wanted.
func (d *differ) nums(name string, got []*float64, want ...float64) {
	d.same(name, len(got) == len(want))
	for i := range min(len(got), len(want)) {
		if got[i] == nil {
			d.same(name, false)
			continue
		}
		v := math.Abs(*got[i] - want[i])
		d.worst = math.Max(d.worst, v)
		d.same(name, v <= recordTol)
	}
}

// none wants numbers that do not apply to be left out.
func (d *differ) none(name string, got ...*float64) {
	for _, v := range got {
		d.same(name, v == nil)
	}
}

func (d *differ) part(got toldPart, want jig.Part, set post.Set) {
	d.same("id of "+want.ID, got.ID == want.ID && got.Template == want.Template && got.Role == string(want.Role))
	v := want.Outline.Vertices()
	d.same("outline of "+want.ID, len(got.Outline) == len(v) && len(got.Openings) == len(want.Openings))
	if d.at != "" {
		return
	}
	for i, w := range v {
		g := got.Outline[i]
		d.nums("outline of "+want.ID, []*float64{&g[0], &g[1], &g[2]}, w.At.X, w.At.Y, w.Bulge)
	}
	for i, o := range want.Openings {
		d.opening(want.ID+" "+o.ID, got.Openings[i], o)
	}
	g, w := got.OnTable, want.OnTable
	d.same("pose of "+want.ID, g.Upright == w.Upright)
	d.nums("pose of "+want.ID, []*float64{&g.X, &g.Y, &g.Z, &g.TurnDeg, &got.Scale},
		w.X, w.Y, w.Z, w.Turn.Degrees(), proof.MoverOf(want, geom.Placement{}).K)
	for _, s := range set.Sheets {
		for _, pl := range s.Placed {
			if pl.ID != want.ID {
				continue
			}
			name := fmt.Sprintf("sheet %d %s", s.N, want.ID)
			d.same(name, got.Sheet == s.N && got.OnSheet != nil)
			if on := got.OnSheet; on != nil {
				d.nums(name, []*float64{&on.X, &on.Y, &on.TurnDeg}, pl.On.X, pl.On.Y, pl.On.Turn.Degrees())
			}
		}
	}
}

func (d *differ) opening(name string, g toldOpening, w jig.Opening) {
	mark := ""
	if g.Mark != nil {
		mark = *g.Mark
	}
	d.same(name, g.ID == w.ID && g.Kind == string(w.Kind) && mark == w.Mark)
	round := []*float64{g.X, g.Y}
	ends := []*float64{g.X1, g.Y1, g.X2, g.Y2}
	about := []*float64{g.CX, g.CY, g.StartDeg, g.EndDeg}
	switch w.Kind {
	case jig.OpenSlot, jig.OpenPair, jig.OpenFin:
		d.nums(name, append(ends, g.Width), w.A.X, w.A.Y, w.B.X, w.B.Y, w.Width)
		d.none(name, append(append(round, about...), g.R)...)
	case jig.OpenArc:
		d.nums(name, append(about, g.R, g.Width), w.A.X, w.A.Y, w.Start.Degrees(), w.End.Degrees(), w.Radius, w.Width)
		d.none(name, append(round, ends...)...)
	default:
		d.nums(name, append(round, g.R), w.A.X, w.A.Y, w.Width/2)
		d.none(name, append(append(ends, about...), g.Width)...)
	}
}

func (d *differ) sheet(g toldSheet, set post.Set, i int) {
	w := set.Sheets[i]
	name := fmt.Sprintf("sheet %d", w.N)
	var others []string
	for _, pl := range w.Placed {
		if !slices.ContainsFunc(set.Jig.Parts, func(p jig.Part) bool { return p.ID == pl.ID }) {
			others = append(others, pl.ID)
		}
	}
	d.same(name, g.N == w.N && slices.Equal(g.Others, others))
	d.nums(name, []*float64{&g.Width, &g.Height, &g.Thickness, &g.Kerf, &g.CutMM, &g.TravelMM, &g.TimeS, &g.Used},
		w.Width, w.Height, set.Material.Thickness, set.Material.Kerf, w.CutLen, w.TravelLen, w.Time, w.UsedFraction)
	named := func(got *string, tail string, there bool) {
		d.same(name+"'s files", there == (got != nil) && (got == nil || *got == fmt.Sprintf("sheet-%d%s", w.N, tail)))
	}
	shop := set.Machine.Process == "shop"
	drawing := ".dxf"
	if set.Job.DXF == "compensated" {
		drawing = "-compensated.dxf"
	}
	named(g.Files.DXF, drawing, !set.Held(i))
	named(g.Files.NC, ".nc", !shop)
	named(g.Files.DryRun, "-dryrun.nc", !shop)
	named(g.Files.Edges, "-edges.nc", !shop)
	if b := g.Bounds; b != nil {
		d.nums(name+"'s bounds", []*float64{&b.XMin, &b.YMin, &b.XMax, &b.YMax}, w.Bounds.Min.X, w.Bounds.Min.Y, w.Bounds.Max.X, w.Bounds.Max.Y)
	}
	d.same(name+"'s bounds", shop == (g.Bounds == nil))
}

func (d *differ) mark(g toldMark, w layout.Mark) {
	name := "mark " + w.ID
	d.same(name, g.ID == w.ID && g.Kind == string(w.Kind) && g.Name == string([]rune(w.Name)) && len(g.Points) == len(w.Points) &&
		slices.Equal(g.Also, w.Also) && slices.Equal(g.Games, w.Games) && g.Rule == string([]rune(w.Rule)) && g.Source == string([]rune(w.Source)))
	at, end, arc := []*float64{g.X, g.Y}, []*float64{g.X2, g.Y2}, []*float64{g.Radius, g.StartDeg, g.EndDeg}
	switch w.Kind {
	case layout.Spot:
		d.nums(name, at, markNumbers(w)...)
		d.none(name, append(end, arc...)...)
	case layout.Line:
		d.nums(name, append(at, end...), markNumbers(w)...)
		d.none(name, arc...)
	case layout.Arc:
		d.nums(name, append(at, arc...), markNumbers(w)...)
		d.none(name, end...)
	default:
		var all []*float64
		for i := range g.Points {
			all = append(all, &g.Points[i][0], &g.Points[i][1])
		}
		d.nums(name, all, markNumbers(w)...)
		d.none(name, append(append(at, end...), arc...)...)
	}
}

func (d *differ) setting(g toldSetting, w jig.Setting) {
	name := "settings of the " + w.Template + " template"
	d.same(name, g.Template == w.Template && slices.Equal(g.Marks, w.Marks) && len(g.Rows) == len(w.Rows))
	for i := range min(len(g.Rows), len(w.Rows)) {
		d.same(name, g.Rows[i].Leaves == w.Rows[i].Leaves)
		d.nums(name, []*float64{&g.Rows[i].From, &g.Rows[i].To, &g.Rows[i].Left}, w.Rows[i].From, w.Rows[i].To, w.Rows[i].Left)
	}
}

// budget also holds the sums to their terms: worst adds, likely is the root of squares.
func (d *differ) budget(g toldBudget, w jig.Budget) {
	name := "budget of " + w.Mark
	d.same(name, g.Mark == w.Mark && g.Method == w.Method && len(g.Terms) == len(w.Terms))
	d.nums(name, []*float64{&g.Worst, &g.Likely}, w.Worst, w.Likely)
	if d.at != "" {
		return
	}
	sum, squares := 0.0, 0.0
	for i, t := range w.Terms {
		d.same(name+", "+t.Name, g.Terms[i].Name == t.Name && g.Terms[i].Common == t.Common)
		d.nums(name+", "+t.Name, []*float64{&g.Terms[i].Worst, &g.Terms[i].Likely}, t.Worst, t.Likely)
		sum, squares = sum+g.Terms[i].Worst, squares+g.Terms[i].Likely*g.Terms[i].Likely
	}
	slack := recordTol * float64(len(w.Terms)+1)
	d.same(name+": its terms do not add up", math.Abs(sum-g.Worst) <= slack && math.Abs(math.Sqrt(squares)-g.Likely) <= slack)
}
