package paper_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/post"
	"spotjig/post/paper"
)

// same is how near a printed shape must lie to the set's, mm on paper.
const same = 0.05

// poppler finds one of poppler's programs, or skips and says why.
func poppler(t *testing.T, name string) string {
	t.Helper()
	if testing.Short() {
		t.Skip("skipped: -short leaves the tests with outside programs out")
	}
	bin, err := exec.LookPath(name)
	if err != nil {
		t.Skipf("skipped: %s not found (Debian's poppler-utils)", name)
	}
	return bin
}

func proof(t testing.TB, set post.Set, opt paper.Options) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, paper.WriteProof(&b, set, opt))
	return b.Bytes()
}

func jobSheet(t testing.TB, set post.Set, opt paper.Options) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, paper.WriteJobSheet(&b, set, opt))
	return b.Bytes()
}

// printed is one stroked path of a page: its line width and dense points along
// it, mm from the page's upper left.
type printed struct {
	width float64
	at    []geom.Point
}

// svgPage converts one page with pdftocairo and reads the stroked paths back.
func svgPage(t *testing.T, pdf string, n int) []printed {
	t.Helper()
	out := filepath.Join(t.TempDir(), "page.svg")
	msg, err := exec.Command(poppler(t, "pdftocairo"), "-svg", "-noshrink", "-f", strconv.Itoa(n), "-l", strconv.Itoa(n), pdf, out).CombinedOutput()
	require.NoError(t, err, string(msg))
	doc, err := os.ReadFile(out)
	require.NoError(t, err)
	var res []printed
	d := xml.NewDecoder(bytes.NewReader(doc))
	off := offset(t, string(doc))
	depth, inDefs := 0, 0
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return res
		}
		require.NoError(t, err)
		switch e := tok.(type) {
		case xml.StartElement:
			depth++
			if e.Name.Local == "defs" && inDefs == 0 {
				inDefs = depth
			}
			if e.Name.Local == "path" && inDefs == 0 {
				res = append(res, strokeOf(t, e, off)...)
			}
		case xml.EndElement:
			if depth == inDefs {
				inDefs = 0
			}
			depth--
		}
	}
}

const mmPerPoint = 25.4 / 72

// offset is how far pdftocairo moved the page, points: even without shrinking
// it centres the page on its own idea of the paper. The commonest transform is
// the page's; unmoved it would be (1 0 0 -1 0 height).
func offset(t *testing.T, doc string) geom.Vec {
	t.Helper()
	count, best := map[string]int{}, ""
	for _, m := range regexp.MustCompile(`transform="matrix\(([^)]*)\)"`).FindAllStringSubmatch(doc, -1) {
		count[m[1]]++
		if count[m[1]] > count[best] {
			best = m[1]
		}
	}
	n := numbers(t, best)
	require.Len(t, n, 6)
	require.Equal(t, []float64{1, 0, 0, -1}, n[:4], "the page is at full size")
	box := numbers(t, regexp.MustCompile(`viewBox="([^"]*)"`).FindStringSubmatch(doc)[1])
	return geom.Vec{X: n[4], Y: n[5] - box[3]}
}

func strokeOf(t *testing.T, e xml.StartElement, off geom.Vec) []printed {
	t.Helper()
	attr := map[string]string{}
	for _, a := range e.Attr {
		attr[a.Name.Local] = a.Value
	}
	for _, kv := range strings.Split(attr["style"], ";") { // older versions of cairo write a style
		if k, v, ok := strings.Cut(kv, ":"); ok {
			attr[k] = v
		}
	}
	if attr["stroke-width"] == "" || attr["stroke"] == "none" {
		return nil
	}
	m := [6]float64{1, 0, 0, 1, 0, 0}
	if tr := attr["transform"]; tr != "" {
		n := numbers(t, tr)
		require.Len(t, n, 6, tr)
		copy(m[:], n)
	}
	to := func(x, y float64) geom.Point {
		return geom.Point{X: (m[0]*x + m[2]*y + m[4] - off.X) * mmPerPoint, Y: (m[1]*x + m[3]*y + m[5] - off.Y) * mmPerPoint}
	}
	w, err := strconv.ParseFloat(attr["stroke-width"], 64)
	require.NoError(t, err)
	p := printed{width: w * math.Abs(m[0]) * mmPerPoint}
	var at, first geom.Point
	dense := func(f func(u float64) geom.Point, l float64) {
		n := 2 + int(l/0.5)
		for i := 0; i <= n; i++ {
			p.at = append(p.at, f(float64(i)/float64(n)))
		}
	}
	line := func(q geom.Point) {
		a := at
		dense(func(u float64) geom.Point { return geom.Point{X: a.X + u*(q.X-a.X), Y: a.Y + u*(q.Y-a.Y)} }, a.Dist(q))
		at = q
	}
	for _, c := range regexp.MustCompile(`([MLCZ])([^MLCZ]*)`).FindAllStringSubmatch(attr["d"], -1) {
		n := numbers(t, c[2])
		switch c[1] {
		case "M":
			at = to(n[0], n[1])
			first = at
		case "L":
			line(to(n[0], n[1]))
		case "C":
			a, b, c, q := at, to(n[0], n[1]), to(n[2], n[3]), to(n[4], n[5])
			dense(func(u float64) geom.Point { return bezier(a, b, c, q, u) }, a.Dist(q)*1.6)
			at = q
		case "Z":
			line(first)
		}
	}
	return []printed{p}
}

func bezier(a, b, c, d geom.Point, u float64) geom.Point {
	v := 1 - u
	k := [4]float64{v * v * v, 3 * v * v * u, 3 * v * u * u, u * u * u}
	return geom.Point{X: k[0]*a.X + k[1]*b.X + k[2]*c.X + k[3]*d.X, Y: k[0]*a.Y + k[1]*b.Y + k[2]*c.Y + k[3]*d.Y}
}

func numbers(t *testing.T, s string) []float64 {
	t.Helper()
	var out []float64
	for _, f := range regexp.MustCompile(`-?\d+\.?\d*(?:e-?\d+)?`).FindAllString(s, -1) {
		v, err := strconv.ParseFloat(f, 64)
		require.NoError(t, err)
		out = append(out, v)
	}
	return out
}

// edgesOn returns the edges a template page shows: outlines and openings where
// they lie on the table.
func edgesOn(set post.Set, template string) []geom.Segment {
	var out []geom.Segment
	for _, p := range set.Jig.Parts {
		if p.Template != template || p.OnTable.Upright {
			continue
		}
		for _, c := range partEdges(p) {
			out = append(out, c.Transform(p.OnTable.Plan()).Segments()...)
		}
	}
	return out
}

func partEdges(p jig.Part) []geom.Contour {
	out := []geom.Contour{p.Outline}
	for _, o := range p.Openings {
		out = append(out, o.Contour())
	}
	return out
}

func nearest(segs []geom.Segment, p geom.Point) float64 {
	best := math.Inf(1)
	for _, s := range segs {
		if _, d := s.Nearest(p); d < best {
			best = d
		}
	}
	return best
}

// grid finds the nearest of many points quickly.
type grid map[[2]int][]geom.Point

func gridOf(ps []geom.Point) grid {
	g := grid{}
	for _, p := range ps {
		k := [2]int{int(math.Floor(p.X)), int(math.Floor(p.Y))}
		g[k] = append(g[k], p)
	}
	return g
}

// far reports how far the nearest point is, up to 1 mm.
func (g grid) far(p geom.Point) float64 {
	best := 1.0
	x, y := int(math.Floor(p.X)), int(math.Floor(p.Y))
	for i := -1; i <= 1; i++ {
		for j := -1; j <= 1; j++ {
			for _, q := range g[[2]int{x + i, y + j}] {
				best = math.Min(best, p.Dist(q))
			}
		}
	}
	return best
}

// TestProofEqualsTheTemplate reads every page of the proof back: each printed
// edge lies on an edge of the set, and each edge of the set is printed on every
// page that shows its place.
func TestProofEqualsTheTemplate(t *testing.T) {
	set, opt := demoSet(), paper.Options{}
	pdf := filepath.Join(t.TempDir(), "proof.pdf")
	require.NoError(t, os.WriteFile(pdf, proof(t, set, opt), 0o600))
	want := map[string][]geom.Segment{"A": edgesOn(set, "head"), "B": edgesOn(set, "foot")}
	count := 0
	for _, pg := range paper.ProofPages(set, opt) {
		if !pg.Table {
			continue
		}
		var got []geom.Point
		for _, s := range svgPage(t, pdf, pg.Number) {
			if math.Abs(s.width-0.15) < 0.005 {
				got = append(got, s.at...)
			}
		}
		require.NotEmpty(t, got, "page %d", pg.Number)
		onPaper := place(want[pg.Group], pg)
		worst := 0.0
		for _, p := range got {
			worst = math.Max(worst, nearest(onPaper, p))
		}
		assert.Less(t, worst, same, "page %d: something printed that is not there", pg.Number)
		worst = 0
		g := gridOf(got)
		cell := geom.EmptyBox().Include(pg.OnPage(pg.At)).Include(pg.OnPage(pg.To))
		for _, s := range onPaper {
			n := 1 + int(s.Length()/2)
			for i := 0; i <= n; i++ {
				if p := s.At(float64(i) / float64(n)); cell.Contains(p) {
					worst = math.Max(worst, g.far(p)-0.26) // printed points are at most 0.5 mm apart
					count++
				}
			}
		}
		assert.Less(t, worst, same, "page %d: something missing", pg.Number)
	}
	assert.Greater(t, count, 5000, "places compared")
}

// place carries segments to the page: a flip of y, so arcs bend the other way.
func place(segs []geom.Segment, pg paper.ProofPage) []geom.Segment {
	out := make([]geom.Segment, len(segs))
	for i, s := range segs {
		out[i] = geom.Segment{From: pg.OnPage(s.From), To: pg.OnPage(s.To), Bulge: -s.Bulge}
	}
	return out
}

// TestProofHolesMeasured prints the pages to pixels at 300 dpi, as a printer
// does, and measures every spot hole: its centre lies within one pixel of where
// it belongs and its diameter within two pixels of its own.
func TestProofHolesMeasured(t *testing.T) {
	set, opt := demoSet(), paper.Options{}
	dir := t.TempDir()
	pdf := filepath.Join(dir, "proof.pdf")
	require.NoError(t, os.WriteFile(pdf, proof(t, set, opt), 0o600))
	tool := poppler(t, "pdftoppm")
	const px = 25.4 / 300
	holes := 0
	for _, pg := range paper.ProofPages(set, opt) {
		for _, p := range set.Jig.Parts {
			if !pg.Table || p.OnTable.Upright || (p.Template == "head") != (pg.Group == "A") {
				continue
			}
			for _, o := range p.Openings {
				c := p.OnTable.Plan().Apply(o.A)
				if o.Kind != jig.OpenSpot || !(geom.Box{Min: pg.At, Max: pg.To}).Contains(c) {
					continue
				}
				at := pg.OnPage(c)
				reach := o.Width/2 + 0.6
				from := image.Pt(int((at.X-reach)/px), int((at.Y-reach)/px))
				im := pixels(t, tool, pdf, pg.Number, from, int(2*reach/px)+2)
				got, diameter := ring(im, from, at, reach, px)
				assert.InDelta(t, at.X, got.X, px, "%s %s across", p.ID, o.ID)
				assert.InDelta(t, at.Y, got.Y, px, "%s %s up", p.ID, o.ID)
				assert.InDelta(t, o.Width+0.15, diameter, 2*px, "%s %s diameter over the line", p.ID, o.ID)
				holes++
			}
		}
	}
	assert.Equal(t, 7, holes, "every spot hole is in one piece on some page")
}

// pixels prints a square of page n at 300 dpi: size pixels each way, its first pixel the
// page's at from.
func pixels(t *testing.T, tool, pdf string, n int, from image.Point, size int) image.Image {
	t.Helper()
	base := filepath.Join(t.TempDir(), "p")
	side := strconv.Itoa(size)
	msg, err := exec.Command(tool, "-r", "300", "-gray", "-png", "-singlefile", "-f", strconv.Itoa(n), "-l", strconv.Itoa(n),
		"-x", strconv.Itoa(from.X), "-y", strconv.Itoa(from.Y), "-W", side, "-H", side, pdf, base).CombinedOutput()
	require.NoError(t, err, string(msg))
	f, err := os.Open(base + ".png")
	require.NoError(t, err)
	defer f.Close()
	im, err := png.Decode(f)
	require.NoError(t, err)
	return im
}

// ring finds the dark ring round a place of the page: the middle and size of the box of its
// dark pixels. The picture's first pixel is the page's at from.
func ring(im image.Image, from image.Point, at geom.Point, reach, px float64) (geom.Point, float64) {
	box := geom.EmptyBox()
	for y := int((at.Y - reach) / px); y <= int((at.Y+reach)/px); y++ {
		for x := int((at.X - reach) / px); x <= int((at.X+reach)/px); x++ {
			c := geom.Point{X: (float64(x) + 0.5) * px, Y: (float64(y) + 0.5) * px}
			if c.Dist(at) < reach && color.GrayModel.Convert(im.At(x-from.X, y-from.Y)).(color.Gray).Y < 140 {
				box = box.Include(c)
			}
		}
	}
	return box.Center(), (box.Width()+box.Height())/2 + px
}

// TestProofScaleBars: 100 mm each way on every page, measured on the drawing.
func TestProofScaleBars(t *testing.T) {
	for _, opt := range []paper.Options{{}, {Paper: "letter", Of: "marks"}} {
		set := demoSet()
		pdf := filepath.Join(t.TempDir(), "proof.pdf")
		require.NoError(t, os.WriteFile(pdf, proof(t, set, opt), 0o600))
		for _, pg := range paper.ProofPages(set, opt)[:3] {
			across, up := 0, 0
			for _, s := range svgPage(t, pdf, pg.Number) {
				if math.Abs(s.width-0.2) > 0.005 {
					continue
				}
				b := geom.EmptyBox()
				for _, p := range s.at {
					b = b.Include(p)
				}
				if math.Abs(b.Width()-100) < 0.01 && b.Height() < 0.01 {
					across++
				}
				if math.Abs(b.Height()-100) < 0.01 && b.Width() < 0.01 {
					up++
				}
			}
			assert.Equal(t, [2]int{1, 1}, [2]int{across, up}, "page %d", pg.Number)
		}
	}
}

// TestMarksProof: every mark of the set is printed where it belongs on some page.
func TestMarksProof(t *testing.T) {
	set, opt := demoSet(), paper.Options{Of: "marks", Paper: "letter"}
	pdf := filepath.Join(t.TempDir(), "proof.pdf")
	require.NoError(t, os.WriteFile(pdf, proof(t, set, opt), 0o600))
	found := map[string]bool{}
	for _, pg := range paper.ProofPages(set, opt) {
		var got []geom.Point
		for _, s := range svgPage(t, pdf, pg.Number) {
			if math.Abs(s.width-0.15) < 0.005 {
				got = append(got, s.at...)
			}
		}
		g := gridOf(got)
		for _, m := range set.Marks {
			for _, p := range markPoints(m) {
				if (geom.Box{Min: pg.At, Max: pg.To}).Contains(p) {
					assert.Less(t, g.far(pg.OnPage(p)), 0.26+same, "%s on page %d", m.ID, pg.Number)
					found[m.ID] = true
				}
			}
		}
	}
	assert.Len(t, found, len(set.Marks))
}

// markPoints are places on a mark as the marks' proof draws it: a spot is a
// ring of 2 mm radius.
func markPoints(m layout.Mark) []geom.Point {
	var out []geom.Point
	for i := 0; i < 40; i++ {
		u := float64(i) / 40
		switch m.Kind {
		case layout.Line:
			out = append(out, geom.Point{X: m.X + u*(m.X2-m.X), Y: m.Y + u*(m.Y2-m.Y)})
		case layout.Arc:
			s, c := math.Sincos(float64(m.Start) + u*float64(m.End-m.Start))
			out = append(out, geom.Point{X: m.X + m.Radius*c, Y: m.Y + m.Radius*s})
		case layout.Outline:
			a, b := m.Points[i%len(m.Points)], m.Points[(i+1)%len(m.Points)]
			out = append(out, geom.Point{X: (a[0] + b[0]) / 2, Y: (a[1] + b[1]) / 2})
		default:
			s, c := math.Sincos(u * 2 * math.Pi)
			out = append(out, geom.Point{X: m.X + 2*c, Y: m.Y + 2*s})
		}
	}
	return out
}

// TestProofPagesAllHaveSomething: no page is empty, and together they hold
// every place of every edge.
func TestProofPagesAllHaveSomething(t *testing.T) {
	set := demoSet()
	for _, opt := range []paper.Options{{}, {Paper: "letter"}, {Of: "marks"}} {
		pages := paper.ProofPages(set, opt)
		for group, segs := range map[string][]geom.Segment{"A": edgesOn(set, "head"), "B": edgesOn(set, "foot")} {
			if opt.Of == "marks" {
				continue
			}
			used := map[int]bool{}
			for _, s := range segs {
				for i := 0; i <= 50; i++ {
					p, held := s.At(float64(i)/50), false
					for _, pg := range pages {
						if pg.Group == group && (geom.Box{Min: pg.At, Max: pg.To}).Contains(p) {
							held, used[pg.Number] = true, true
						}
					}
					require.True(t, held, "%v is on no page", p)
				}
			}
			for _, pg := range pages {
				if pg.Group == group {
					assert.True(t, used[pg.Number], "page %d has nothing on it", pg.Number)
				}
			}
		}
	}
}

// TestJobSheetPictureEqualsTheSet reads the first picture back: every flat
// piece's edges and every mark, at the picture's scale.
func TestJobSheetPictureEqualsTheSet(t *testing.T) {
	for _, opt := range []paper.Options{{}, {Paper: "letter"}} {
		set := demoSet()
		pdf := filepath.Join(t.TempDir(), "job.pdf")
		require.NoError(t, os.WriteFile(pdf, jobSheet(t, set, opt), 0o600))
		to := paper.FirstFigure(set, opt)
		var got []geom.Point
		for _, s := range svgPage(t, pdf, 1) {
			got = append(got, s.at...)
		}
		g := gridOf(got)
		for _, tmpl := range []string{"head", "foot"} {
			for _, s := range edgesOn(set, tmpl) {
				for _, u := range []float64{0, 0.5, 1} {
					assert.Less(t, g.far(to(s.At(u))), 0.26+same)
				}
			}
		}
		for _, m := range set.Marks {
			if m.Kind == layout.Spot {
				r := geom.EmptyBox() // the ring round the spot: the drawn points within 1 mm
				c := to(geom.Point{X: m.X, Y: m.Y})
				for _, p := range got {
					if d := p.Dist(c); d > 0.85 && d < 0.95 {
						r = r.Include(p)
					}
				}
				assert.InDelta(t, c.X, r.Center().X, same, m.ID)
				assert.InDelta(t, c.Y, r.Center().Y, same, m.ID)
				continue
			}
			for _, p := range markPoints(m) {
				assert.Less(t, g.far(to(p)), 0.26+same, m.ID)
			}
		}
	}
}

// TestJobSheetSays: the figures on the sheet are the set's own, and every
// caution, unproven setting, warning and piece is on it.
func TestJobSheetSays(t *testing.T) {
	set := demoSet()
	text := textOf(t, jobSheet(t, set, paper.Options{}))
	for _, c := range set.Cautions {
		assert.Contains(t, text, strings.Join(strings.Fields(c), " "))
	}
	for _, c := range set.Checks {
		if c.Verdict != jig.Pass {
			assert.Contains(t, text, c.Text)
		}
	}
	for _, p := range set.Jig.Parts {
		assert.Contains(t, text, p.ID)
	}
	for _, m := range set.Marks {
		assert.Contains(t, text, m.Name)
		assert.Contains(t, text, m.Rule)
	}
	for _, s := range []string{"M. Weaver, 2026-11-18", "NOT PROVEN", "Do not cut", "sheet-1.dxf", "4.85 mm", "0.18 mm", "520.0", "Order of work", "Tape card", "As marked",
		"strip of office paper", "Turn the foot template round", "stretch a thread", "A look along the sights", "Closing checks", "10600 nm", "key at the bar", "at the right nose", "423.3 mm (16 21/32 in) to baulk"} {
		assert.Contains(t, text, s)
	}
	assert.NotContains(t, text, "@", "places are called by name")
	knife := demoSet()
	knife.Machine.Process, knife.Machine.Knife.Offset = "knife", 0.45
	text = textOf(t, jobSheet(t, knife, paper.Options{}))
	assert.Contains(t, text, "trails the pivot by 0.45 mm")
	assert.Contains(t, text, "press one through each hole of the pair")
	assert.NotContains(t, text, "into its socket")
	for _, s := range []string{"Fire watch", "Beam", "width of cut"} {
		assert.NotContains(t, text, s, "of a blade")
	}
	shop := demoSet()
	shop.Machine.Process = "shop"
	text = textOf(t, jobSheet(t, shop, paper.Options{}))
	assert.Contains(t, text, "Order in two steps")
	assert.NotContains(t, text, ".nc")
}

// textOf reads a PDF's text, runs of white space as one blank.
func textOf(t *testing.T, pdf []byte) string {
	t.Helper()
	cmd := exec.Command(poppler(t, "pdftotext"), "-layout", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	require.NoError(t, err)
	return strings.Join(strings.Fields(string(out)), " ")
}

func TestOptions(t *testing.T) {
	assert.ErrorIs(t, paper.WriteJobSheet(io.Discard, demoSet(), paper.Options{Paper: "a5"}), paper.ErrOptions)
	assert.ErrorContains(t, paper.WriteProof(io.Discard, demoSet(), paper.Options{Of: "balls"}), `"balls"`)
}

// TestSameBytes: nothing of the clock, of map order or of a first run is in it.
func TestSameBytes(t *testing.T) {
	for _, opt := range []paper.Options{{}, {Paper: "letter", Of: "marks"}} {
		a, b := jobSheet(t, demoSet(), opt), proof(t, demoSet(), opt)
		for range 4 {
			assert.True(t, bytes.Equal(a, jobSheet(t, demoSet(), opt)))
			assert.True(t, bytes.Equal(b, proof(t, demoSet(), opt)))
		}
	}
	text := string(jobSheet(t, demoSet(), paper.Options{}))
	assert.Contains(t, text, "(D:20261120000000")
}

// TestEmptySet: a set with nothing in it still prints.
func TestEmptySet(t *testing.T) {
	set := demoSet()
	set.Marks, set.Sheets, set.Checks, set.Cautions = nil, nil, nil, nil
	set.Jig = jig.Jig{}
	set.Job.Date = "no date"
	assert.NotEmpty(t, jobSheet(t, set, paper.Options{}))
	assert.NotEmpty(t, proof(t, set, paper.Options{}))
	assert.NotEmpty(t, proof(t, set, paper.Options{Of: "marks"}))
}

// TestHostileText: texts that try to leave a PDF string, or never end, neither
// break the file nor add pages without bound.
func TestHostileText(t *testing.T) {
	for _, text := range []string{`) Tj ET Q endstream endobj (`, "\\)\\(\\", "\x00\x1b]0;x\x07", "\u202eevil\u2066", "\xed\xa0\x80", "a\nb\rc", strings.Repeat("m", 1_000_000), "½ Ø ± 中 🎱"} {
		set := demoSet()
		set.Job.Name, set.Job.Date, set.Table.Name, set.Version = text, text, text, text
		set.Cautions = []string{text}
		set.Machine.Name, set.Material.Kind, set.Material.Cut.Proven = text, text, text
		for i := range set.Marks {
			set.Marks[i].Name, set.Marks[i].Rule, set.Marks[i].FromHead = text, text, text
		}
		for i := range set.Checks {
			set.Checks[i].Text = text
		}
		job := jobSheet(t, set, paper.Options{})
		assert.Less(t, len(job), 2_000_000, "%.20q", text)
		assert.Equal(t, pagesIn(job), strings.Count(string(job), "/Type /Page\n"), "%.20q", text)
		proof(t, set, paper.Options{})
		proof(t, set, paper.Options{Of: "marks"})
	}
}

// pagesIn is the page count that the page tree states.
func pagesIn(pdf []byte) int {
	m := regexp.MustCompile(`/Count (\d+)`).FindSubmatch(pdf)
	if m == nil {
		return -1
	}
	n, _ := strconv.Atoi(string(m[1]))
	return n
}

func BenchmarkJobSheet(b *testing.B) {
	set := demoSet()
	for b.Loop() {
		require.NoError(b, paper.WriteJobSheet(io.Discard, set, paper.Options{}))
	}
}

func BenchmarkProof(b *testing.B) {
	for _, of := range []string{"template", "marks"} {
		b.Run(of, func(b *testing.B) {
			set := demoSet()
			for b.Loop() {
				require.NoError(b, paper.WriteProof(io.Discard, set, paper.Options{Of: of}))
			}
		})
	}
}
