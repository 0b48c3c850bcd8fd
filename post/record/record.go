// Package record writes and reads record.json, the machine-readable account of
// a finished job, and writes marks.csv. Other people's scripts read both, so
// names, order and units of the keys are fixed; WriteSchema tells what they mean.
//
// Lengths and angles are rounded to 1e-6; bulges, scales and everything of the
// job, machine and material sections keep twelve significant digits.
package record

import (
	"fmt"
	"io"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/layout/job"
	"spotjig/post"
)

// Format names the form of the file. It changes when programs that read the file have to.
const Format = "spotjig-record/4"

// Record is the whole file. Field order is key order; a field's key is its name
// in snake_case unless its tag says otherwise.
type Record struct {
	Format   string
	Version  string           // the stamp of the program that made the set
	Job      job.Job          `rec:"job,resolved"`     // as resolved; File and the raw sections are not kept
	Machine  machine.Profile  `rec:"machine,resolved"` // feeds in mm/min, key suffix _mm_min
	Material machine.Material `rec:"material,resolved"`
	Marks    []Mark           // table frame
	Parts    []Part           // part frame, nominal size
	Sheets   []Sheet          // sheet frame
	Checks   []Check
	Budgets  []Budget // of every mark
	Serves   Serves   // which tables
	Files    []File   // every other file of the folder but the list of hashes
}

// Mark is one mark, table frame; what does not apply to its kind is null.
type Mark struct {
	ID               string
	Also             []string
	Name             string
	Games            []string
	Kind             string
	X, Y, X2, Y2     *float64
	Radius           *float64
	StartDeg, EndDeg *float64
	Points           [][2]float64
	Rule, Source     string
}

// Vertex is x, y and the bulge of the segment that starts there, an array of
// three in the file.
type Vertex struct {
	X, Y  float64
	Bulge float64 `rec:",fine"`
}

// Part is one piece, part frame, at nominal size.
type Part struct {
	ID, Template, Role string
	Sheet              int     // 0: on no sheet
	Scale              float64 `rec:",fine"` // multiplies the part about its origin in drawings and programs
	Outline            []Vertex
	Openings           []Opening
	OnSheet            *OnSheet // null when it is on no sheet
	OnTable            OnTable
}

// Opening is one opening; which keys it has depends on its kind.
type Opening struct {
	ID       string
	Kind     string
	Mark     *string
	X        *float64 `rec:",omit"`
	Y        *float64 `rec:",omit"`
	X1       *float64 `rec:",omit"`
	Y1       *float64 `rec:",omit"`
	X2       *float64 `rec:",omit"`
	Y2       *float64 `rec:",omit"`
	Cx       *float64 `rec:",omit"`
	Cy       *float64 `rec:",omit"`
	R        *float64 `rec:",omit"`
	StartDeg *float64 `rec:",omit"`
	EndDeg   *float64 `rec:",omit"`
	Width    *float64 `rec:",omit"`
}

// OnSheet carries part frame to sheet frame.
type OnSheet struct {
	X, Y float64
	Turn geom.Angle
}

// OnTable carries part frame to table frame; see jig.Pose.
type OnTable struct {
	X, Y, Z float64
	Turn    geom.Angle
	Upright bool
}

// Sheet is one sheet; files it does not have are null.
type Sheet struct {
	N             int
	Width, Height float64
	Thickness     float64
	Kerf          float64
	Files         SheetFiles
	Bounds        *Bounds // of the cut with its lead-ins; null without a program
	CutMM         float64 `rec:"cut_mm"`
	TravelMM      float64 `rec:"travel_mm"`
	TimeS         float64 `rec:"time_s"`
	UsedFraction  float64
	Others        *[]string `rec:",omit"` // pieces of other jobs on it
}

// SheetFiles names the files of one sheet.
type SheetFiles struct {
	DXF    *string `rec:"dxf"`
	NC     *string `rec:"nc"`
	DryRun *string `rec:"dryrun"`
	Edges  *string `rec:"edges"`
}

// Bounds is a box, sheet frame.
type Bounds struct {
	XMin float64 `rec:"xmin"`
	YMin float64 `rec:"ymin"`
	XMax float64 `rec:"xmax"`
	YMax float64 `rec:"ymax"`
}

// Check is one thing looked at.
type Check struct {
	ID, Verdict  string
	Value, Limit float64
	Unit, Text   string
}

// Budget is one mark's error budget, mm: worst is the sum of the terms' worsts, likely
// the root of the sum of their likelies' squares.
type Budget struct {
	Mark, Method  string
	Worst, Likely float64
	Terms         []BudgetTerm
}

// BudgetTerm is one cause, mm; a common one is the same in every piece.
type BudgetTerm struct {
	Name          string
	Worst, Likely float64
	Common        bool
}

// Serves is the range of playing-surface length that the jig serves, mm, and how its
// templates are set for a table in it.
type Serves struct {
	LengthMin, LengthMax float64
	Settings             []Setting
}

// Setting is how many leaves stand behind the shoes of a template while some of its marks
// are marked.
type Setting struct {
	Template string
	Marks    []string
	Rows     []SettingRow
}

// SettingRow is a stretch of measured length, both ends inside it, mm; left is how far it
// leaves any of the marks from its rule.
type SettingRow struct {
	Leaves         int
	From, To, Left float64
}

// File is one other file of the folder with its length and SHA-256 in hex.
type File struct {
	Name   string
	Bytes  int
	SHA256 string `rec:"sha256"`
}

// Options are what a set does not hold.
type Options struct {
	Files []File // every other file of the folder but the list of hashes, in the order to list them
}

// Write writes the record of the set.
func Write(w io.Writer, what post.Set, opt Options) error {
	return fromSet(what, opt).Write(w)
}

// Write writes the record; it refuses numbers that are not finite.
func (r Record) Write(w io.Writer) error {
	b, err := encode(r)
	if err != nil {
		return fmt.Errorf("write record: %w", err)
	}
	if _, err := w.Write(b); err != nil {
		return fmt.Errorf("write record: %w", err)
	}
	return nil
}

// fromSet returns the record of the set.
func fromSet(set post.Set, opt Options) Record {
	r := Record{
		Format: Format, Version: set.Version, Job: set.Job, Machine: set.Machine, Material: set.Material,
		Marks: []Mark{}, Parts: []Part{}, Sheets: []Sheet{}, Checks: []Check{}, Budgets: []Budget{},
		Files: append([]File{}, opt.Files...),
	}
	r.Job.File, r.Job.Machine, r.Job.Material = "", job.Section{}, job.Section{}
	for _, m := range set.Marks {
		r.Marks = append(r.Marks, markOf(m))
	}
	for _, p := range set.Jig.Parts {
		r.Parts = append(r.Parts, partOf(set, p))
	}
	for i := range set.Sheets {
		r.Sheets = append(r.Sheets, sheetOf(set, i))
	}
	for _, c := range set.Checks {
		r.Checks = append(r.Checks, Check{c.ID, string(c.Verdict), c.Value, c.Limit, c.Unit, c.Text})
	}
	for _, b := range set.Jig.Budgets {
		one := Budget{Mark: b.Mark, Method: b.Method, Worst: b.Worst, Likely: b.Likely, Terms: []BudgetTerm{}}
		for _, t := range b.Terms {
			one.Terms = append(one.Terms, BudgetTerm(t))
		}
		r.Budgets = append(r.Budgets, one)
	}
	r.Serves = Serves{LengthMin: set.Jig.LengthMin, LengthMax: set.Jig.LengthMax, Settings: []Setting{}}
	for _, s := range set.Jig.Settings {
		one := Setting{Template: s.Template, Marks: append([]string{}, s.Marks...)}
		for _, row := range s.Rows {
			one.Rows = append(one.Rows, SettingRow(row))
		}
		r.Serves.Settings = append(r.Serves.Settings, one)
	}
	return r
}

func ptr(v float64) *float64 { return &v }

func markOf(m layout.Mark) Mark {
	out := Mark{
		ID: m.ID, Also: append([]string{}, m.Also...), Name: m.Name, Games: append([]string{}, m.Games...),
		Kind: string(m.Kind), Points: append([][2]float64{}, m.Points...), Rule: m.Rule, Source: m.Source,
	}
	switch m.Kind {
	case layout.Spot:
		out.X, out.Y = ptr(m.X), ptr(m.Y)
	case layout.Line:
		out.X, out.Y, out.X2, out.Y2 = ptr(m.X), ptr(m.Y), ptr(m.X2), ptr(m.Y2)
	case layout.Arc:
		out.X, out.Y, out.Radius = ptr(m.X), ptr(m.Y), ptr(m.Radius)
		out.StartDeg, out.EndDeg = ptr(m.Start.Degrees()), ptr(m.End.Degrees())
	}
	return out
}

func partOf(set post.Set, p jig.Part) Part {
	out := Part{
		ID: p.ID, Template: p.Template, Role: string(p.Role), Scale: p.CutScale(),
		Outline: []Vertex{}, Openings: []Opening{},
		OnTable: OnTable{p.OnTable.X, p.OnTable.Y, p.OnTable.Z, p.OnTable.Turn, p.OnTable.Upright},
	}
	for _, v := range p.Outline.Vertices() {
		out.Outline = append(out.Outline, Vertex{v.At.X, v.At.Y, v.Bulge})
	}
	for _, o := range p.Openings {
		out.Openings = append(out.Openings, openingOf(o))
	}
	for _, s := range set.Sheets {
		for _, pl := range s.Placed {
			if pl.ID == p.ID {
				out.Sheet, out.OnSheet = s.N, &OnSheet{pl.On.X, pl.On.Y, pl.On.Turn}
			}
		}
	}
	return out
}

func openingOf(o jig.Opening) Opening {
	out := Opening{ID: o.ID, Kind: string(o.Kind)}
	if o.Mark != "" {
		out.Mark = &o.Mark
	}
	switch o.Kind {
	case jig.OpenSlot, jig.OpenPair, jig.OpenFin:
		out.X1, out.Y1, out.X2, out.Y2 = ptr(o.A.X), ptr(o.A.Y), ptr(o.B.X), ptr(o.B.Y)
		out.Width = ptr(o.Width)
	case jig.OpenArc:
		out.Cx, out.Cy, out.R, out.Width = ptr(o.A.X), ptr(o.A.Y), ptr(o.Radius), ptr(o.Width)
		out.StartDeg, out.EndDeg = ptr(o.Start.Degrees()), ptr(o.End.Degrees())
	default:
		out.X, out.Y, out.R = ptr(o.A.X), ptr(o.A.Y), ptr(o.Width/2)
	}
	return out
}

func sheetOf(set post.Set, i int) Sheet {
	s := set.Sheets[i]
	name := func(tail string) *string {
		v := fmt.Sprintf("sheet-%d%s", s.N, tail)
		return &v
	}
	out := Sheet{
		N: s.N, Width: s.Width, Height: s.Height, Thickness: set.Material.Thickness, Kerf: set.Material.Kerf,
		CutMM: s.CutLen, TravelMM: s.TravelLen, TimeS: s.Time, UsedFraction: s.UsedFraction,
	}
	var others []string
	for _, p := range set.Others {
		if s.Holds(p.ID) {
			others = append(others, p.ID)
		}
	}
	if others != nil {
		out.Others = &others
	}
	if !set.Held(i) {
		dxf := set.DrawingName(s.N, "") + ".dxf"
		out.Files.DXF = &dxf
	}
	if set.Machine.Process == machine.Shop {
		return out
	}
	out.Files.NC, out.Files.DryRun, out.Files.Edges = name(".nc"), name("-dryrun.nc"), name("-edges.nc")
	if b := s.Bounds; b != (geom.Box{}) && !b.IsEmpty() {
		out.Bounds = &Bounds{b.Min.X, b.Min.Y, b.Max.X, b.Max.Y}
	}
	return out
}
