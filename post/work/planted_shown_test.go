package work

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"spotjig/cam/jig"
	"spotjig/layout"
	"spotjig/layout/geom"
	"spotjig/post"
)

// shownFaults are planted in what people look at.
func shownFaults() []planted {
	return slices.Concat(printedFaults(), pageFaults(), listedFaults(), orderedFaults())
}

// shownPart has page and papers drawn with one part changed.
func shownPart(id string, f func(*jig.Part)) steps {
	return steps{shown: func(s *post.Set) {
		s.Jig.Parts = slices.Clone(s.Jig.Parts)
		for i := range s.Jig.Parts {
			if p := &s.Jig.Parts[i]; p.ID == id {
				p.Openings = slices.Clone(p.Openings)
				f(p)
				return
			}
		}
		panic("no part " + id)
	}}
}

// shownMark has page and papers drawn with one mark moved by 0.1 mm.
func shownMark(i int) steps {
	return steps{shown: func(s *post.Set) {
		s.Marks = append([]layout.Mark(nil), s.Marks...)
		s.Marks[i].X += 0.1
	}}
}

// printedFaults are planted in the paper proof.
func printedFaults() []planted {
	const by = "as-printed"
	names := func(a, b string) steps {
		return editPDF("proof.pdf", func(page int, s string) string {
			return strings.NewReplacer("("+a+")", "("+b+")", "("+b+")", "("+a+")").Replace(s)
		})
	}
	onPage := func(n int, old, put string) steps {
		return editPDF("proof.pdf", func(page int, s string) string {
			if page == n {
				if !strings.Contains(s, old) {
					panic("nothing to plant the fault in: " + old)
				}
				return strings.Replace(s, old, put, 1)
			}
			return s
		})
	}
	const begins = "0 J\n0 j\n"
	return named("proof.pdf", "quiet", []planted{
		{name: "a page off by a row", catch: by, hook: editPDF("proof.pdf", func(page int, s string) string {
			if page != 6 { // drawn 248 mm, a row, further down
				return s
			}
			from, to := strings.Index(s, " W n\n"), strings.Index(s, "\nQ\n")
			return s[:from+5] + shiftY(s[from+5:to], 248/25.4*72) + s[to:]
		})},
		{name: "names of two pages exchanged", catch: by, hook: names("A2.2", "A2.3")},
		{name: "a page's words of another row", catch: by, hook: onPage(6, "245.8 mm left", "498.3 mm left")},
		{name: "pages in another order", catch: by, hook: kids("proof.pdf", func(k []string) []string { k[5], k[6] = k[6], k[5]; return k })},
		{name: "a page missing", catch: by, hook: kids("proof.pdf", func(k []string) []string { return slices.Delete(k, 7, 8) })},
		{name: "a page twice", catch: by, hook: kids("proof.pdf", func(k []string) []string { return slices.Insert(k, 7, k[7]) })},
		{name: "a page at 99 %", catch: by, hook: onPage(6, begins, ".99 0 0 .99 0 0 cm\n"+begins)},
		{name: "a page mirrored", catch: by, hook: onPage(6, begins, "-1 0 0 1 595.28 0 cm\n"+begins)},
		{name: "a page turned", catch: by, hook: onPage(6, begins, "-1 0 0 -1 595.28 841.89 cm\n"+begins)},
		{name: "all pages at 99 %", catch: by, hook: editPDF("proof.pdf", func(_ int, s string) string { return ".99 0 0 .99 0 0 cm\n" + s })},
		{name: "another paper", catch: by, hook: replaceFirst("proof.pdf", `595\.28 841\.89`, "612.00 792.00")},
		{name: "a cross lost", catch: by, hook: onPage(6, "36.85 751.18 m 59.53 751.18 l S\n", "")},
		{name: "a cross moved", catch: by, hook: onPage(6, "36.85 751.18 m 59.53 751.18 l S\n", "36.85 750.18 m 59.53 750.18 l S\n")},
		{name: "a scale bar stretched", catch: by, hook: onPage(6, "260.79 782.36 m 544.25 782.36 l S", "260.79 782.36 m 545.25 782.36 l S")},
		{name: "a piece 0.1 mm off", catch: by, hook: shownPart("H3", func(p *jig.Part) { p.OnTable.X += 0.1 })},
		{name: "a hole 0.1 mm off", catch: by, hook: shownPart("H3", func(p *jig.Part) { p.Openings[0].Figure = p.Openings[0].Transform(geom.Placement{X: 0.1}) })},
		{name: "a hole lost", catch: by, hook: shownPart("H3", func(p *jig.Part) { p.Openings = p.Openings[1:] })},
		{name: "a hole too many", catch: by, hook: shownPart("H4", func(p *jig.Part) {
			p.Openings = append(p.Openings, jig.Opening{ID: "x", Kind: jig.OpenSpot, Figure: geom.Dot(p.Outline.Bounds().Center()), Width: 4})
		})},
		{name: "a fin of another outline", catch: by, hook: shownPart("HE1", func(p *jig.Part) { p.Outline = p.Outline.Scaled(1.001) })},
		{name: "lettering lost", catch: by, hook: shownPart("H1", func(p *jig.Part) { p.Letters = p.Letters[1:] })},
		{name: "two pieces' names exchanged", catch: by, hook: names("H2", "F9")},
		{name: "the table 1 mm longer", catch: by, hook: steps{shown: func(s *post.Set) {
			s.Table.Corners[1][0]++
			s.Table.Corners[2][0]++
		}}},
		{name: "a mark 0.1 mm off, on a proof of the marks", of: "marks", catch: by, hook: shownMark(0)},
		{name: "a mark lost, on a proof of the marks", of: "marks", catch: by, hook: steps{shown: func(s *post.Set) { s.Marks = s.Marks[1:] }}},
	})
}

// pageFaults are planted in the page and the pictures.
func pageFaults() []planted {
	const by = "as-shown"
	text := func(pattern, with string) steps { return replaceFirst("view.html", pattern, with) }
	checks := func(f func(*jig.Check)) steps {
		return steps{shown: func(s *post.Set) { f(&s.Checks[2]) }}
	}
	return named("view.html", "quiet", []planted{
		{name: "a piece 0.1 mm off on the table", catch: by, hook: shownPart("H3", func(p *jig.Part) { p.OnTable.X += 0.1 })},
		{name: "a piece 0.1 mm off on its sheet", catch: by, hook: steps{shown: func(s *post.Set) {
			s.Sheets = slices.Clone(s.Sheets)
			s.Sheets[0].Placed = shifted(s.Sheets[0].Placed)
		}}},
		{name: "a hole 0.1 mm off", catch: by, hook: shownPart("H3", func(p *jig.Part) { p.Openings[0].Figure = p.Openings[0].Transform(geom.Placement{X: 0.1}) })},
		{name: "a hole lost", catch: by, hook: shownPart("H3", func(p *jig.Part) { p.Openings = p.Openings[1:] })},
		{name: "a score lost", catch: by, hook: shownPart("H1", func(p *jig.Part) { p.Scores = p.Scores[1:] })},
		{name: "a piece lost", catch: by, hook: text(`<use href="#p3" transform="[^"]*"/>`, "")},
		{name: "a piece turned", catch: by, hook: text(`(<use href="#p9" transform="translate[^"]*) rotate\(180\)`, "$1")},
		{name: "growth left out", job: "laser-warm", catch: by, hook: text(` scale\([0-9.]+\)`, "")},
		{name: "a picture mirrored", catch: by, hook: text(`matrix\(1 0 0 -1 0 0\)`, "matrix(1 0 0 1 0 0)")},
		{name: "the template not on the table", catch: by, hook: text(`<use class="l-jig" href="#s-jig"/>`, "")},
		{name: "a mark 0.1 mm off", catch: by, hook: shownMark(0)},
		{name: "a line 0.1 mm off", catch: by, hook: shownMark(3)},
		{name: "a mark lost", catch: by, hook: steps{shown: func(s *post.Set) { s.Marks = s.Marks[:len(s.Marks)-1] }}},
		{name: "a mark's place misstated", catch: by, hook: text(`<td>635\.3 mm`, "<td>653.3 mm")},
		{name: "a check's verdict changed", catch: by, hook: checks(func(c *jig.Check) { c.Verdict = jig.Warn })},
		{name: "a check's value changed", catch: by, hook: checks(func(c *jig.Check) { c.Value++ })},
		{name: "a check left out", catch: by, hook: steps{shown: func(s *post.Set) { s.Checks = s.Checks[1:] }}},
		{name: "a budget misstated", catch: by, hook: text(`<span class="nums">worst [0-9.]+`, `<span class="nums">worst 0.1`)},
		{name: "a caution left out", catch: by, hook: steps{shown: func(s *post.Set) { s.Cautions = s.Cautions[1:] }}},
		{name: "another kerf", catch: by, hook: steps{shown: func(s *post.Set) { s.Material.Kerf = 0.2 }}},
		{name: "cut order: two cuts exchanged", catch: by, hook: steps{shown: func(s *post.Set) {
			s.Sheets = slices.Clone(s.Sheets)
			o := slices.Clone(s.Sheets[0].Path.Ops)
			o[0], o[len(o)-1] = o[len(o)-1], o[0]
			s.Sheets[0].Path.Ops = o
		}}},
		{name: "cut order: another power", catch: by, hook: text(`(\[2,[0-9]+,[0-9]+,)800,`, "${1}80,")},
		{name: "cut order: a cut takes another time", catch: by, hook: text(`(\[2,[0-9]+,[0-9]+,800,[0-9.]+,[0-9.]+,)[0-9.]+`, "${1}99.5")},
		{name: "cut order: a cut elsewhere", catch: by, hook: text(`(\[2,[^"]*"M)[0-9]`, "${1}9")},
		{name: "cut order: a piece elsewhere", catch: by, hook: text(`("pieces":\[\[[0-9]+,)`, "${1}1")},
		{name: "cut order: the extents elsewhere", catch: by, hook: text(`("bounds":\[)`, "${1}1")},
		{name: "cut order: the travel elsewhere", catch: by, hook: text(`("travel":\[-?)`, "${1}1")},
		{name: "cut order: the head starts elsewhere", catch: by, hook: text(`("start":\[)`, "${1}1")},
		{name: "a script from outside", catch: by, hook: text(`</head>`, `<script src="https://example.org/x.js"></script></head>`)},
		{name: "a script that the policy does not let", catch: by, hook: text(`</body>`, `<script>1</script></body>`)},
		{name: "a policy that lets more", catch: by, hook: text(`default-src 'none'`, `default-src 'self'`)},
		{name: "something that loads", catch: by, hook: text(`</main>`, `<img src="https://example.org/x.png"></main>`)},
		{name: "an event handler", catch: by, hook: text(`<section id="table"`, `<section onclick="x()" id="table"`)},
		{name: "a link outside", catch: by, hook: text(`href="#main"`, `href="https://example.org/"`)},
		{name: "table.svg: a piece elsewhere", catch: by, hook: replaceFirst("table.svg", `(<use href="#p3" transform="translate\()4`, "${1}5")},
		{name: "sheet-2-picture.svg: a piece elsewhere", catch: by, hook: replaceFirst("sheet-2-picture.svg", `(data-part="\w+" transform="translate\()`, "${1}4")},
	})
}

// listedFaults are planted in the job sheet.
func listedFaults() []planted {
	const by = "as-listed"
	given := func(f func(*post.Set)) steps {
		return steps{shown: func(s *post.Set) {
			s.Sheets, s.Cautions, s.Tape = slices.Clone(s.Sheets), slices.Clone(s.Cautions), slices.Clone(s.Tape)
			s.Jig.Joints, s.Marks = slices.Clone(s.Jig.Joints), slices.Clone(s.Marks)
			f(s)
		}}
	}
	return named("job sheet", "quiet", []planted{
		{name: "another kerf", catch: by, hook: given(func(s *post.Set) { s.Material.Kerf = 0.2 })},
		{name: "another thickness", catch: by, hook: given(func(s *post.Set) { s.Material.Thickness = 5 })},
		{name: "another sheet's size", catch: by, hook: given(func(s *post.Set) { s.Sheets[1].Width = 500 })},
		{name: "another sheet's extents", catch: by, hook: given(func(s *post.Set) { s.Sheets[0].Bounds = s.Sheets[1].Bounds })},
		{name: "another power", catch: by, hook: given(func(s *post.Set) { s.Material.Cut.Power = 80 })},
		{name: "another feed", catch: by, hook: given(func(s *post.Set) { s.Material.Score.Feed *= 10 })},
		{name: "another depth, of a blade", job: "film", catch: by, hook: given(func(s *post.Set) { s.Material.Cut.Depth = -0.35 })},
		{name: "proven by nobody", catch: by, hook: given(func(s *post.Set) { s.Material.Cut.Proven = "A. N. Other, yesterday" })},
		{name: "a piece on another sheet", catch: by, hook: given(func(s *post.Set) { s.Sheets[0].Placed, s.Sheets[1].Placed = s.Sheets[1].Placed, s.Sheets[0].Placed })},
		{name: "a caution lost", catch: by, hook: given(func(s *post.Set) { s.Cautions = slices.Delete(s.Cautions, 1, 2) })},
		{name: "a caution reworded", catch: by, hook: given(func(s *post.Set) { s.Cautions[0] = "All is well." })},
		{name: "a check dimension changed", catch: by, hook: shownPart("H4", func(p *jig.Part) { p.Outline = p.Outline.Scaled(1.001) })},
		{name: "a joint lost", catch: by, hook: given(func(s *post.Set) { s.Jig.Joints = s.Jig.Joints[1:] })},
		{name: "a row of the tape card lost", catch: by, hook: given(func(s *post.Set) { s.Tape = slices.Delete(s.Tape, 3, 4) })},
		{name: "a row of the tape card 1 mm off", catch: by, hook: given(func(s *post.Set) { s.Tape[3].EndDist++ })},
		{name: "a mark's plan 0.1 mm off", catch: by, hook: shownMark(0)},
		{name: "another table", catch: by, hook: given(func(s *post.Set) { s.Table.L++ })},
		{name: "a check that failed not counted", catch: by, hook: given(func(s *post.Set) { s.Checks = s.Checks[1:] })},
		{name: "a page lost", catch: by, hook: kids("job-sheet.pdf", func(k []string) []string { return slices.Delete(k, 2, 3) })},
		{name: "the last page lost", catch: by, hook: kids("job-sheet.pdf", func(k []string) []string { return k[:len(k)-1] })},
		{name: "pages exchanged", catch: by, hook: kids("job-sheet.pdf", func(k []string) []string { k[1], k[2] = k[2], k[1]; return k })},
		{name: "a figure changed in the file", catch: by, hook: editPDF("job-sheet.pdf", func(_ int, s string) string { return strings.Replace(s, "(800) Tj", "(80) Tj", 1) })},
	})
}

// orderedFaults are planted in the order that goes to a shop, and in what all copies take.
func orderedFaults() []planted {
	const by = "as-asked"
	given := func(f func(*post.Set)) steps {
		return steps{shown: func(s *post.Set) {
			s.Sheets, s.Cautions, s.Jig.Parts = slices.Clone(s.Sheets), slices.Clone(s.Cautions), slices.Clone(s.Jig.Parts)
			s.Material.Sheets = slices.Clone(s.Material.Sheets)
			f(s)
		}}
	}
	inFile := func(old, put string) steps {
		return editPDF("order.pdf", func(_ int, s string) string {
			if !strings.Contains(s, old) {
				panic("nothing to plant the fault in: " + old)
			}
			return strings.Replace(s, old, put, 1)
		})
	}
	return named("order", "shop", []planted{
		{name: "one copy too few", catch: by, hook: given(func(s *post.Set) { s.Job.Copies = 1 })},
		{name: "another thickness", catch: by, hook: given(func(s *post.Set) { s.Material.Thickness = 5 })},
		{name: "another size of sheet", catch: by, hook: given(func(s *post.Set) { s.Sheets[0].Width = 400 })},
		{name: "a cut length of other pieces", catch: by, hook: given(func(s *post.Set) { s.Jig.Parts[0].Scale = 1.01 })},
		{name: "a hole not counted", catch: by, hook: given(func(s *post.Set) {
			for i := range s.Jig.Parts {
				if o := s.Jig.Parts[i].Openings; len(o) > 0 {
					s.Jig.Parts[i].Openings = o[1:]
					return
				}
			}
			panic("no opening")
		})},
		{name: "colours exchanged", catch: by, hook: given(func(s *post.Set) {
			s.Job.Colours.Opening, s.Job.Colours.Score = s.Job.Colours.Score, s.Job.Colours.Opening
		})},
		{name: "a caution lost", catch: by, hook: given(func(s *post.Set) { s.Cautions = s.Cautions[1:] })},
		{name: "another drawing named", catch: by, hook: inFile("(sheet-1.dxf)", "(sheet-2.dxf)")},
		{name: "an edge said to be cut last", catch: by, hook: inFile("(cut through, before any outline)", "(cut through, last)")},
		{name: "another hash", catch: by, hook: editPDF("order.pdf", func(_ int, s string) string {
			at := regexp.MustCompile(`\(([0-9a-f]{32}) `).FindStringIndex(s)
			return s[:at[0]+1] + strings.Repeat("0", 32) + s[at[1]-1:]
		})},
		{name: "another price", catch: "as-listed", hook: given(func(s *post.Set) { s.Material.Sheets[0].Price = 4 })},
		{name: "what one copy takes", catch: "as-listed", hook: given(func(s *post.Set) { s.Job.Copies = 0 })},
		{name: "an hour at another rate", catch: "as-listed", job: "laser", hook: given(func(s *post.Set) { s.Machine.Rate = 30 })},
	})
}

// shiftY adds to every y of a page's paths.
func shiftY(s string, by float64) string {
	line := regexp.MustCompile(`(?m)^(?:-?[0-9.]+ )+[mlc]$`)
	return line.ReplaceAllStringFunc(s, func(l string) string {
		f := strings.Fields(l)
		for i := 1; i < len(f)-1; i += 2 {
			v, _ := strconv.ParseFloat(f[i], 64)
			f[i] = fmt.Sprintf("%.5f", v-by)
		}
		return strings.Join(f, " ")
	})
}

// kids changes the order of a PDF's pages.
func kids(file string, f func([]string) []string) steps {
	re := regexp.MustCompile(`/Kids \[((?:\d+ 0 R )+)\]\n/Count \d+`)
	return steps{program: func(name string, b []byte) []byte {
		if name != file {
			return b
		}
		m := re.FindSubmatch(b)
		k := f(regexp.MustCompile(`\d+ 0 R `).FindAllString(string(m[1]), -1))
		return rebuilt(bytes.Replace(b, m[0], fmt.Appendf(nil, "/Kids [%s]\n/Count %d", strings.Join(k, ""), len(k)), 1))
	}}
}

// editPDF changes the contents of a PDF's pages, counted from 1, and keeps the
// file sound: lengths and offsets are worked out again.
func editPDF(file string, f func(page int, s string) string) steps {
	stream := regexp.MustCompile(`(?s)<</Length \d+>>\nstream\n(.*?)\nendstream`)
	return steps{program: func(name string, b []byte) []byte {
		if name != file {
			return b
		}
		page := 0
		return rebuilt(stream.ReplaceAllFunc(b, func(m []byte) []byte {
			page++
			body := f(page, string(stream.FindSubmatch(m)[1]))
			return fmt.Appendf(nil, "<</Length %d>>\nstream\n%s\nendstream", len(body), body)
		}))
	}}
}

// rebuilt works a PDF's cross-reference table out again.
func rebuilt(b []byte) []byte {
	body, tail, _ := bytes.Cut(b, []byte("\nxref\n0 "))
	_, trailer, _ := bytes.Cut(tail, []byte("trailer\n"))
	trailer, _, _ = bytes.Cut(trailer, []byte("startxref\n"))
	at := map[int]int{}
	for _, m := range regexp.MustCompile(`(?m)^(\d+) 0 obj$`).FindAllSubmatchIndex(body, -1) {
		n, _ := strconv.Atoi(string(body[m[2]:m[3]]))
		at[n] = m[0]
	}
	out := append([]byte(nil), body...)
	out = fmt.Appendf(out, "\nxref\n0 %d\n0000000000 65535 f \n", len(at)+1)
	for n := 1; n <= len(at); n++ {
		out = fmt.Appendf(out, "%010d 00000 n \n", at[n])
	}
	return fmt.Appendf(out, "trailer\n%sstartxref\n%d\n%%%%EOF\n", trailer, len(body)+1)
}
