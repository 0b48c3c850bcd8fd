// Package recorded proves record.json and marks.csv, read back against the set.
package recorded

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"fmt"
	"math"
	"strconv"
	"strings"

	"spotjig/layout/figure"
	"spotjig/layout/problem"
	"spotjig/post/proof"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/post"
	"spotjig/post/record"
)

// recordTol: lengths in the record have six decimals.
const recordTol = 0.0000006

// File is one file of the folder to be, by name.
type File struct {
	Name string
	Data []byte
}

// Record reads record.json back (id record): its own hash is that of its bytes;
// written again it gives the same bytes; its parts, openings, poses, placements,
// marks, checks and kerf are the set's; and it lists every other file with its
// length and SHA-256.
func Record(data []byte, set post.Set, files []File) jig.Check {
	c := jig.Check{ID: "record", Verdict: jig.Pass, Limit: recordTol, Unit: "mm"}
	r, err := record.Read(bytes.NewReader(data))
	if err != nil {
		return proof.Failed(c, err.Error())
	}
	var again bytes.Buffer
	if err := r.Write(&again); err != nil {
		return proof.Failed(c, err.Error())
	}
	if !bytes.Equal(data, again.Bytes()) {
		return proof.Failed(c, "the record, read and written again, is not the same")
	}
	if err := sameFiles(r, files); err != nil {
		return proof.Failed(c, err.Error())
	}
	back, err := r.Set()
	if err != nil {
		return proof.Failed(c, err.Error())
	}
	c.Value, err = sameSet(back, set)
	if err != nil {
		return proof.Failed(c, err.Error())
	}
	c.Text = fmt.Sprintf("record read back: %s, %s, %s", figure.Count(len(r.Parts), "part"), figure.Count(len(r.Marks), "mark"), figure.Count(len(r.Files), "file"))
	return c
}

func sameFiles(r record.Record, files []File) error {
	if len(r.Files) != len(files) {
		return fmt.Errorf("the record lists %d files, there are %d", len(r.Files), len(files))
	}
	byName := map[string]record.File{}
	for _, f := range r.Files {
		byName[f.Name] = f
	}
	for _, f := range files {
		sum := sha256.Sum256(f.Data)
		if byName[f.Name] != (record.File{Name: f.Name, Bytes: len(f.Data), SHA256: hex.EncodeToString(sum[:])}) {
			return fmt.Errorf("the record does not list %s as it is", f.Name)
		}
	}
	return nil
}

// sameSet compares what the record keeps of a set.
func sameSet(got, want post.Set) (worst float64, err error) {
	if len(got.Jig.Parts) != len(want.Jig.Parts) || len(got.Sheets) != len(want.Sheets) || len(got.Marks) != len(want.Marks) {
		return 0, fmt.Errorf("the record has another number of parts, sheets or marks")
	}
	if got.Material.Kerf != want.Material.Kerf && math.Abs(got.Material.Kerf-want.Material.Kerf) > recordTol {
		return 0, fmt.Errorf("the record has kerf %v, the job %v", got.Material.Kerf, want.Material.Kerf)
	}
	if got.Version != want.Version {
		return 0, fmt.Errorf("the record is of version %q, not %q", got.Version, want.Version)
	}
	if err := sameResolved(got, want); err != nil {
		return 0, err
	}
	var d differ
	for i, p := range want.Jig.Parts {
		d.part(got.Jig.Parts[i], p)
	}
	for i, s := range want.Sheets {
		d.sheet(got.Sheets[i], s)
	}
	for i, m := range want.Marks {
		d.mark(got.Marks[i], m)
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

func (d *differ) num(name string, got, want float64) {
	v := math.Abs(got - want)
	d.worst = math.Max(d.worst, v)
	if !(v <= recordTol) && d.at == "" {
		d.at = name
	}
}

func (d *differ) same(name string, ok bool) {
	if !ok && d.at == "" {
		d.at = name
	}
}

func (d *differ) part(got, want jig.Part) {
	d.same("id of "+want.ID, got.ID == want.ID && got.Template == want.Template && got.Role == want.Role)
	a, b := got.Outline.Vertices(), want.Outline.Vertices()
	d.same("outline of "+want.ID, len(a) == len(b) && len(got.Openings) == len(want.Openings))
	if d.at != "" {
		return
	}
	for i := range b {
		d.num("outline of "+want.ID, a[i].At.X, b[i].At.X)
		d.num("outline of "+want.ID, a[i].At.Y, b[i].At.Y)
		d.num("outline of "+want.ID, a[i].Bulge, b[i].Bulge)
	}
	for i, o := range want.Openings {
		d.opening(want.ID+" "+o.ID, got.Openings[i], o)
	}
	g, w := got.OnTable, want.OnTable
	d.same("pose of "+want.ID, g.Upright == w.Upright)
	for _, v := range [][2]float64{{g.X, w.X}, {g.Y, w.Y}, {g.Z, w.Z}, {g.TurnDeg, w.TurnDeg}, {got.Scale, proof.MoverOf(want, geom.Placement{}).K}} {
		d.num("pose of "+want.ID, v[0], v[1])
	}
}

func (d *differ) opening(name string, g, w jig.Opening) {
	d.same(name, g.ID == w.ID && g.Kind == w.Kind && g.Mark == w.Mark)
	a, b := openingNumbers(g), openingNumbers(w)
	for i := range min(len(a), len(b)) {
		d.num(name, a[i], b[i])
	}
}

// openingNumbers are the numbers that apply to the opening's kind.
func openingNumbers(o jig.Opening) []float64 {
	switch o.Kind {
	case jig.OpenSlot, jig.OpenFin:
		return []float64{o.From.X, o.From.Y, o.To.X, o.To.Y, o.Width}
	case jig.OpenArc:
		return []float64{o.C.X, o.C.Y, o.R, o.StartDeg, o.EndDeg, o.Width}
	}
	return []float64{o.C.X, o.C.Y, o.R}
}

func (d *differ) sheet(got, want post.Sheet) {
	name := fmt.Sprintf("sheet %d", want.N)
	d.same(name, got.N == want.N && len(got.Placed) == len(want.Placed))
	d.num(name, got.Width, want.Width)
	d.num(name, got.Height, want.Height)
	on := map[string]int{}
	for i, p := range got.Placed {
		on[p.ID] = i
	}
	for _, p := range want.Placed {
		i, ok := on[p.ID]
		d.same(name+" "+p.ID, ok)
		if ok {
			g := got.Placed[i].On
			d.num(name+" "+p.ID, g.X, p.On.X)
			d.num(name+" "+p.ID, g.Y, p.On.Y)
			d.num(name+" "+p.ID, g.TurnDeg, p.On.TurnDeg)
		}
	}
}

func (d *differ) mark(got, want layout.Mark) {
	d.same("mark "+want.ID, got.ID == want.ID && got.Kind == want.Kind && len(got.Points) == len(want.Points))
	a, b := markNumbers(got), markNumbers(want)
	for i := range min(len(a), len(b)) {
		d.num("mark "+want.ID, a[i], b[i])
	}
}

// markNumbers are the numbers that apply to the mark's kind.
func markNumbers(m layout.Mark) []float64 {
	switch m.Kind {
	case layout.Spot:
		return []float64{m.X, m.Y}
	case layout.Line:
		return []float64{m.X, m.Y, m.X2, m.Y2}
	case layout.Arc:
		return []float64{m.X, m.Y, m.Radius, m.StartDeg, m.EndDeg}
	}
	var out []float64
	for _, p := range m.Points {
		out = append(out, p[0], p[1])
	}
	return out
}

// csvTol: half the last of four decimals.
const csvTol = 0.00005 + proof.Slack

// Marks reads marks.csv back (id marks-csv): every mark's numbers, an outline a
// row a side.
func Marks(data []byte, marks []layout.Mark) jig.Check {
	c := jig.Check{ID: "marks-csv", Verdict: jig.Pass, Limit: csvTol, Unit: "mm"}
	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	if err != nil || len(rows) == 0 {
		return proof.Failed(c, fmt.Sprintf("marks.csv cannot be read back: %v", err))
	}
	if got := strings.Join(rows[0], ","); got != marksHead {
		return proof.Failed(c, fmt.Sprintf("marks.csv begins with the columns %.200q", got))
	}
	want := wantedRows(marks)
	if len(rows)-1 != len(want) {
		return proof.Failed(c, fmt.Sprintf("marks.csv has %d rows, wanted %d", len(rows)-1, len(want)))
	}
	names := wantedNames(marks)
	for i, row := range rows[1:] {
		for k, cell := range append(row[:3:3], row[4]) {
			if strings.TrimPrefix(cell, "'") != names[i][k] { // the apostrophe keeps a spreadsheet from reckoning
				return proof.Failed(c, fmt.Sprintf("marks.csv row %d: %.40q, wanted %.40q", i+2, cell, names[i][k]))
			}
		}
		var got []float64
		for _, cell := range row[6:13] {
			if cell == "" {
				continue
			}
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				return proof.Failed(c, fmt.Sprintf("marks.csv row %d: %.20q is no number", i+2, cell))
			}
			got = append(got, v)
		}
		if len(got) != len(want[i]) {
			return proof.Failed(c, fmt.Sprintf("marks.csv row %d has %d numbers, wanted %d", i+2, len(got), len(want[i])))
		}
		for k := range got {
			c.Value = math.Max(c.Value, math.Abs(got[k]-want[i][k]))
		}
		if !(c.Value <= c.Limit) {
			return proof.Failed(c, fmt.Sprintf("marks.csv row %d is off by %.4f", i+2, c.Value))
		}
	}
	c.Text = fmt.Sprintf("marks.csv read back: %s", figure.Count(len(want), "row"))
	return c
}

// marksHead are the columns that other people's scripts rely on.
const marksHead = "id,also,name,games,kind,group,x_mm,y_mm,x2_mm,y2_mm,radius_mm,start_deg,end_deg,from_head,from_foot,across,rule,source"

// wantedNames are id, other ids, name and kind of every row.
func wantedNames(marks []layout.Mark) [][4]string {
	shown := func(s string) string {
		return strings.TrimPrefix(strings.Map(func(r rune) rune {
			if strconv.IsPrint(r) && !problem.Unseen(r) {
				return r
			}
			return -1
		}, strings.ToValidUTF8(s, "?")), "'")
	}
	var out [][4]string
	for _, m := range marks {
		row := [4]string{shown(m.ID), shown(strings.Join(m.Also, ";")), shown(m.Name), string(m.Kind)}
		if m.Kind != layout.Outline {
			out = append(out, row)
			continue
		}
		for i := range m.Points {
			side := row
			side[0], side[3] = shown(fmt.Sprintf("%s-%d", m.ID, i+1)), string(layout.Line)
			out = append(out, side)
		}
	}
	return out
}

func wantedRows(marks []layout.Mark) [][]float64 {
	var out [][]float64
	for _, m := range marks {
		n := markNumbers(m)
		if m.Kind != layout.Outline {
			out = append(out, n)
			continue
		}
		for i := 0; i < len(n); i += 2 {
			k := (i + 2) % len(n)
			out = append(out, []float64{n[i], n[i+1], n[k], n[k+1]})
		}
	}
	return out
}
