package view

import (
	"bytes"
	"crypto/sha256"
	_ "embed" // the style sheet and the script travel in the program
	"encoding/base64"
	"fmt"
	"strings"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/layout/figure"
	"spotjig/layout/job"
	"spotjig/post"
)

//go:embed page.css
var pageStyle string

//go:embed picture.css
var pictureStyle string

//go:embed page.js
var pageScript string

// build makes the page in memory; letters says whether the cut order shows the
// lettering.
func build(set post.Set, letters bool) *bytes.Buffer {
	b := new(bytes.Buffer)
	sc := newScene(set)
	writeHead(b, set)
	b.WriteString(`<svg class="store" width="0" height="0" aria-hidden="true" focusable="false">` + "\n")
	sc.writeDefs(b)
	b.WriteString("</svg>\n")
	writeMast(b, set)
	b.WriteString(`<main id="main">` + "\n")
	writePlan(b, sc)
	writeSteps(b, set)
	writeSheets(b, sc)
	writePlayer(b, sc, letters)
	writeChecks(b, sc)
	writeBudgets(b, sc)
	writeMarkList(b, sc)
	writeCautions(b, set)
	b.WriteString("</main>\n")
	writeFoot(b, set)
	if hasProgram(set) {
		b.WriteString(`<script type="application/json" id="data">`)
		b.Write(newPlayer(sc, letters).encode())
		b.WriteString("</script>\n")
	}
	b.WriteString("<script>" + pageScript + "</script>\n</body>\n</html>\n")
	return b
}

// writeHead opens the document. The policy lets nothing load and only this very
// script and style sheet act, whatever else a text might smuggle in.
func writeHead(b *bytes.Buffer, set post.Set) {
	style := pictureStyle + pageStyle
	fmt.Fprintf(b, `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; script-src '%s'; style-src '%s'; base-uri 'none'; form-action 'none'">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta name="referrer" content="no-referrer">
<meta name="generator" content="spotjig %s">
<title>%s: spotting jig</title>
<style>%s</style>
</head>
<body data-units="%s">
<a class="skip" href="#main">To the pictures</a>
`, digest(pageScript), digest(style), esc(set.Version), esc(set.Title()), style, unitsOf(set))
}

// unitsOf is which unit the page shows first until its reader chooses.
func unitsOf(set post.Set) string {
	if set.Job.Units == job.UnitsInch {
		return job.UnitsInch
	}
	return job.UnitsMM
}

// digest is a source's hash as a content security policy spells it.
func digest(s string) string {
	h := sha256.Sum256([]byte(s))
	return "sha256-" + base64.StdEncoding.EncodeToString(h[:])
}

// writeMast writes the job's name and what it comes to in one line each.
func writeMast(b *bytes.Buffer, set post.Set) {
	fmt.Fprintf(b, `<header><h1>%s</h1><p class="sub">%s %s by %s. %s</p>`, esc(set.Title()), post.Parts(", ", esc(set.Table.Name), "playing surface"),
		figure.Length(set.Table.L), figure.Length(set.Table.W), esc(set.Job.Date))
	writeOutlook(b, set)
	n := set.Tally()
	b.WriteString(`<p class="tally">`)
	for _, v := range []jig.Verdict{jig.Fail, jig.Warn, jig.Pass} {
		if n[v] > 0 || v == jig.Pass {
			fmt.Fprintf(b, `<a href="#checks" class="verdict %s">%s %s</a> `, v, sign(v), tally(v, n[v]))
		}
	}
	b.WriteString(`</p><nav aria-label="Parts of this page"><ul>`)
	for _, s := range sections(set) {
		fmt.Fprintf(b, `<li><a href="#%s">%s</a></li>`, s[0], s[1])
	}
	b.WriteString(`</ul></nav><fieldset class="switches"><legend>Lengths</legend><label><input type="radio" name="units" value="mm" checked> mm first</label><label><input type="radio" name="units" value="in"> inches first</label></fieldset></header>` + "\n")
}

// sections lists the page's parts: anchor and name.
func sections(set post.Set) [][2]string {
	out := [][2]string{{"table", "Table"}}
	if len(steps(set)) > 0 {
		out = append(out, [2]string{"at-table", "At the table"})
	}
	out = append(out, [2]string{"sheets", "Sheets"})
	if hasProgram(set) {
		out = append(out, [2]string{"order", "Cut order"})
	}
	return append(out, [2]string{"checks", "Checks"}, [2]string{"budget", "Error budget"}, [2]string{"marks", "Marks"}, [2]string{"cautions", "Cautions"})
}

// tally says how many checks came to a verdict.
func tally(v jig.Verdict, n int) string {
	if v == jig.Warn {
		return figure.Count(n, "warning")
	}
	return fmt.Sprintf("%d %sed", n, v)
}

// sign is the verdict's shape, so that colour is never alone.
func sign(v jig.Verdict) string {
	switch v {
	case jig.Pass:
		return `<span class="sign" aria-hidden="true">✓</span>`
	case jig.Warn:
		return `<span class="sign" aria-hidden="true">▲</span>`
	default:
		return `<span class="sign" aria-hidden="true">✕</span>`
	}
}

// layers are the switches of the table picture: class, name, on at the start.
var layers = []struct {
	class, name string
	on          bool
}{
	{"marks", "Marks", true}, {"jig", "Template", true}, {"pieces", "Piece names", true}, {"names", "Mark names", true},
	{"contacts", "Contacts", true}, {"dims", "Dimensions", false},
}

func writePlan(b *bytes.Buffer, sc *scene) {
	b.WriteString(`<section id="table" aria-labelledby="table-h"><h2 id="table-h">Table from above</h2>` + "\n")
	b.WriteString(`<fieldset class="switches" id="switches"><legend>Show</legend>`)
	off := ""
	box := func(class, name string, on bool) {
		state := " checked"
		if !on {
			state = ""
			off += " no-" + class
		}
		fmt.Fprintf(b, `<label><input type="checkbox" data-layer="%s"%s> %s</label>`, class, state, name)
	}
	for _, l := range layers {
		box(l.class, l.name, l.on)
	}
	for i, r := range sc.racks {
		box(r.class, "Balls: "+r.name, i == 0)
	}
	b.WriteString("</fieldset>\n")
	writeZoom(b, "plan", "the table")
	fmt.Fprintf(b, `<figure class="plan%s" id="plan">`+"\n", off)
	newPlan(sc, landscape, layoutWide, false).writeTo(b, "plan-w")
	newPlan(sc, landscape, layoutMedium, false).writeTo(b, "plan-m")
	newPlan(sc, portrait, layoutNarrow, false).writeTo(b, "plan-n")
	b.WriteString(`<figcaption>`)
	writeKey(b, planKey(sc))
	fmt.Fprintf(b, ` Rails, pockets and sights are symbols. The template serves playing surfaces %s to %s long. Dimensions run from the head nose and from the centre line, left positive, in <span class="unit">mm</span>.</figcaption></figure>`+"\n",
		figure.MM(sc.set.Jig.LengthMin), figure.MM(sc.set.Jig.LengthMax))
	writeDistance(b, sc.set)
	b.WriteString("</section>\n")
}

// planKey is the legend of the table picture, of what this job has.
func planKey(sc *scene) [][2]string {
	key := [][2]string{{"k-spot", "spot"}, {"k-line", "line or arc"}, {"k-part", "template piece"}}
	for _, p := range sc.set.Jig.Parts {
		if p.OnTable.Upright {
			key = append(key, [2]string{"k-fin", "upright piece"}, [2]string{"k-touch", "it sets the template"}, [2]string{"k-slide", "it centres the template"})
			break
		}
	}
	if len(sc.racks) > 0 {
		key = append(key, [2]string{"k-ball", "ball, true size"})
	}
	return key
}

// writeKey writes a legend: swatch class and name.
func writeKey(b *bytes.Buffer, rows [][2]string) {
	b.WriteString(`<ul class="key">`)
	for _, r := range rows {
		fmt.Fprintf(b, `<li><svg class="swatch" viewBox="0 0 24 12" aria-hidden="true">%s</svg>%s</li>`, swatches[r[0]], r[1])
	}
	b.WriteString("</ul>")
}

// swatches are the shapes of the legends.
var swatches = map[string]string{
	"k-spot":    `<circle class="spot" cx="12" cy="6" r="4"/>`,
	"k-line":    `<path class="mark-key" d="M1 6H23"/>`,
	"k-part":    `<rect class="body" x="2" y="1" width="20" height="10"/>`,
	"k-fin":     `<rect class="fin" x="2" y="4" width="20" height="4"/>`,
	"k-touch":   `<path class="touch" d="M18 6L6 1V11z"/>`,
	"k-slide":   `<path class="touch slide" d="M18 6L6 1V11z"/>`,
	"k-ball":    `<circle class="ball" cx="12" cy="6" r="5"/>`,
	"k-bounds":  `<rect class="bounds" x="2" y="1.5" width="20" height="9"/>`,
	"k-travel":  `<rect class="travel" x="2" y="1.5" width="20" height="9"/>`,
	"k-letter":  `<path class="op op0 done" d="M1 6H23"/>`,
	"k-score":   `<path class="op op1 done" d="M1 6H23"/>`,
	"k-opening": `<path class="op op2 done" d="M1 6H23"/>`,
	"k-outline": `<path class="op op3 done" d="M1 6H23"/>`,
	"k-rapid":   `<path class="rapid" d="M1 6H23"/>`,
}

func writeSheets(b *bytes.Buffer, sc *scene) {
	m := sc.set.Material
	kerf := "kerf (width of cut) " + num(m.Kerf, 3) + " mm"
	if sc.set.Machine.Process == machine.Knife {
		kerf = "a blade takes no width away"
	}
	fmt.Fprintf(b, `<section id="sheets" aria-labelledby="sheets-h"><h2 id="sheets-h">Sheets</h2><p>%s</p><div class="grid">`+"\n",
		post.Parts(" ", fmt.Sprintf("%s, %s; %s.", esc(m.Kind), post.ThicknessOf(m), kerf), esc(sc.set.SharedWith())))
	for i, s := range sc.set.Sheets {
		fmt.Fprintf(b, `<figure id="sheet%d" class="sheet-fig">`, s.N)
		newSheetPicture(sc, s).writeTo(b, fmt.Sprintf("sh%d", s.N))
		fmt.Fprintf(b, `<figcaption><strong>Sheet %d</strong>, %s, %s, %s used.`, s.N, figure.By(s.Width, s.Height), figure.Count(len(s.Placed), "piece"), figure.Share(s.UsedFraction))
		if len(s.Path.Ops) > 0 {
			fmt.Fprintf(b, ` Cut %s, travel %s, about %s. <span class="machine">Extents x %s, y %s.</span>`, figure.Metres(s.CutLen), figure.Metres(s.TravelLen), figure.Time(s.Time),
				figure.Between(s.Bounds.Min.X, s.Bounds.Max.X), figure.Between(s.Bounds.Min.Y, s.Bounds.Max.Y))
		}
		if sc.set.Held(i) {
			b.WriteString(" Held back until the thickness is measured: fins and slots fit nothing else.")
		}
		if sc.set.Ordered(i) {
			b.WriteString(" Ordered already, in the first step: not cut again.")
		}
		b.WriteString("</figcaption></figure>\n")
	}
	b.WriteString("</div>")
	if hasProgram(sc.set) {
		rows := [][2]string{{"k-bounds", "extents of the cut"}}
		note := ""
		if t, known := sc.travel(); !t.IsEmpty() {
			rows = append(rows, [2]string{"k-travel", "travel of the machine"})
			if !known {
				note = "<p>The machine profile declares no work zero: its travel is drawn as if the zero stood in its corner.</p>"
			}
		}
		writeKey(b, rows)
		b.WriteString(note)
	}
	b.WriteString("</section>\n")
}

func writePlayer(b *bytes.Buffer, sc *scene, letters bool) {
	if !hasProgram(sc.set) {
		return
	}
	b.WriteString(`<section id="order" aria-labelledby="order-h"><h2 id="order-h">Cut order</h2>
<div class="player" id="player" role="group" aria-label="Cut order player" tabindex="0">
<div class="row"><label>Sheet <select id="deck"></select></label><label>Jump to piece <select id="jump"></select></label><label>Speed <select id="speed"><option value="1">true speed</option><option value="10">10 times</option><option value="30" selected>30 times</option><option value="100">100 times</option><option value="300">300 times</option></select></label></div>
<svg id="stage" class="pic stage" role="img" aria-label="The sheet as it is cut" viewBox="0 0 100 60"></svg>
<div class="row"><button type="button" id="back" aria-label="Previous cut">◀</button><button type="button" id="play" aria-pressed="false">Play</button><button type="button" id="next" aria-label="Next cut">▶</button><input type="range" id="scrub" min="0" max="1000" value="0" step="1" aria-label="Time in the cut"></div>
<dl class="readout"><div><dt>Now</dt><dd id="now"></dd></div><div><dt>Tool</dt><dd id="tool"></dd></div><div><dt>Time</dt><dd id="time"></dd></div><div><dt>Cut</dt><dd id="cut"></dd></div><div><dt>Travel</dt><dd id="rapid"></dd></div></dl>
</div>
`)
	writeKey(b, [][2]string{{"k-letter", "lettering"}, {"k-score", "score"}, {"k-opening", "opening"}, {"k-outline", "outline"}, {"k-rapid", "travel"},
		{"k-bounds", "extents of the cut"}, {"k-travel", "travel of the machine"}})
	b.WriteString(`<p class="hint">Keys in the player: space plays and pauses, arrow keys step one cut, Home and End go to the ends. Times are estimates.`)
	if !letters {
		b.WriteString(` Lettering is left out here to keep the page small; its time is counted.`)
	}
	b.WriteString("</p></section>\n")
}

// writeOutlook says first whether the job may be cut, what it waits for and what is next.
func writeOutlook(b *bytes.Buffer, set post.Set) {
	o := set.Outlook()
	fmt.Fprintf(b, `<p class="outlook"><strong>%s.</strong>`, esc(o.Verdict))
	if len(o.Holds) > 0 {
		fmt.Fprintf(b, ` It waits for this: %s.`, joined(o.Holds, "; "))
	}
	fmt.Fprintf(b, ` Next: %s.</p>`, joined(o.Next, "; then "))
}

// writeZoom writes the buttons that enlarge a picture.
func writeZoom(b *bytes.Buffer, of, what string) {
	fmt.Fprintf(b, `<div class="zoom" data-of="%s" role="group" aria-label="Enlarge %s"><button type="button" class="in" aria-label="Larger">+</button><button type="button" class="out" aria-label="Smaller">−</button><button type="button" class="whole">Whole</button></div>`+"\n", of, what)
}

// writeDistance writes the lists that two marks are chosen from.
func writeDistance(b *bytes.Buffer, set post.Set) {
	if len(set.Tape) > 1 {
		b.WriteString(`<div class="row distance"><label>Distance from <select id="dist-a"><option value="">touch a mark</option></select></label><label>to <select id="dist-b"><option value="">touch another</option></select></label><strong id="dist" role="status"></strong></div>` + "\n")
	}
}

func writeChecks(b *bytes.Buffer, sc *scene) {
	b.WriteString(`<section id="checks" aria-labelledby="checks-h"><h2 id="checks-h">Checks</h2><p class="hint">Press a check to see what it speaks of; Escape puts the light out.</p><p id="told" class="told" role="status"></p><ol class="checks">` + "\n")
	for _, v := range []jig.Verdict{jig.Fail, jig.Warn} {
		for _, c := range sc.set.Checks {
			if c.Verdict == v {
				writeCheck(b, sc, c)
			}
		}
	}
	b.WriteString("</ol>")
	// Those that passed are folded away: they are many, and say that nothing needs to be done.
	if n := sc.set.Tally()[jig.Pass]; n > 0 {
		fmt.Fprintf(b, `<details class="passed"><summary><span class="verdict pass">%s %s passed</span></summary><ol class="checks">`+"\n", sign(jig.Pass), figure.Count(n, "check"))
		for _, c := range sc.set.Checks {
			if c.Verdict == jig.Pass {
				writeCheck(b, sc, c)
			}
		}
		b.WriteString("</ol></details>")
	}
	b.WriteString("</section>\n")
}

func writeCheck(b *bytes.Buffer, sc *scene, c jig.Check) {
	ids, names := sc.where(c)
	fmt.Fprintf(b, `<li><button type="button" class="check" data-where="%s" data-names="%s"><span class="verdict %s">%s %s</span> <span class="what">%s`,
		joined(ids, " "), joined(names, ", "), c.Verdict, sign(c.Verdict), c.Verdict, esc(c.Text))
	if c.Unit != "" || c.Value != 0 || c.Limit != 0 {
		against := ""
		if c.Limit != 0 {
			against = " against " + num(c.Limit, 3)
		}
		fmt.Fprintf(b, ` <span class="figures">%s</span>`, strings.TrimRight(num(c.Value, 3)+against+" "+esc(c.Unit), " "))
	}
	fmt.Fprintf(b, `</span> <code>%s</code></button></li>`+"\n", esc(c.ID))
}

// joined is a list as one attribute value, each item escaped.
func joined(list []string, sep string) string {
	out := ""
	for i, s := range list {
		if i > 0 {
			out += sep
		}
		out += esc(s)
	}
	return out
}

// nameOf returns what people call a mark, and its store id.
func (sc *scene) nameOf(id string) (name, dom string) {
	for i, m := range sc.set.Marks {
		if m.ID == id {
			return m.Name, fmt.Sprintf("m%d", i)
		}
	}
	return id, ""
}

func writeBudgets(b *bytes.Buffer, sc *scene) {
	b.WriteString(`<section id="budget" aria-labelledby="budget-h"><h2 id="budget-h">Error budget</h2><p class="hint">How far off each mark may land, in <span class="unit">mm</span>. At worst everything goes the same way; 19 of 20 layings stay within what is likely, the root of the squares of the terms. The stroke is the tolerance, 1.0 mm where the job states none.</p><div class="budgets">` + "\n")
	for _, u := range sc.set.Jig.Budgets {
		writeBudget(b, sc, u)
	}
	b.WriteString("</div></section>\n")
}

func writeBudget(b *bytes.Buffer, sc *scene, u jig.Budget) {
	name, dom := sc.nameOf(u.Mark)
	fmt.Fprintf(b, `<details class="budget"><summary data-where="%s"><span class="who">%s</span>`, dom, esc(name))
	full := max(u.Worst, u.Tolerance, 1e-9) * 1.05
	w := func(v float64) string { return num(v/full*100, 2) }
	fmt.Fprintf(b, `<svg class="bar" viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true"><rect class="worst" width="%s" height="10"/><rect class="rss" width="%s" height="10"/><path class="limit" d="M%s 0V10"/></svg>`,
		w(u.Worst), w(u.Likely), w(u.Tolerance))
	fmt.Fprintf(b, `<span class="nums">worst %s, likely %s, limit %s</span><span class="verdict %s">%s %s</span></summary>`,
		num(u.Worst, 2), num(u.Likely, 2), num(u.Tolerance, 2), u.Verdict, sign(u.Verdict), u.Verdict)
	b.WriteString(`<table><thead><tr><th scope="col">Term</th><th scope="col" class="unit">mm</th><th scope="col">Kind</th></tr></thead><tbody>`)
	for _, t := range u.Terms {
		kind := "independent"
		if t.Common {
			kind = "common"
		}
		fmt.Fprintf(b, `<tr><th scope="row">%s</th><td>%s</td><td>%s</td></tr>`, esc(t.Name), num(t.Worst, 3), kind)
	}
	b.WriteString("</tbody></table>")
	if u.Improve != "" {
		fmt.Fprintf(b, `<p>What would help most: %s.</p>`, esc(u.Improve))
	}
	b.WriteString("</details>\n")
}

func writeMarkList(b *bytes.Buffer, sc *scene) {
	b.WriteString(`<section id="marks" aria-labelledby="marks-h"><h2 id="marks-h">Marks</h2><table class="marks"><thead><tr><th scope="col">Mark</th><th scope="col">From the head nose</th><th scope="col">Across</th></tr></thead><tbody>` + "\n")
	for i, m := range sc.set.Marks {
		fmt.Fprintf(b, `<tr><th scope="row"><button type="button" class="find" data-where="m%d" data-names="%s">%s</button><span class="rule">%s. %s</span></th><td>%s</td><td>%s</td></tr>`+"\n",
			i, esc(m.Name), esc(m.Name), esc(m.Rule), esc(m.Source), esc(m.FromHead), esc(m.Across))
	}
	b.WriteString("</tbody></table></section>\n")
}

func writeCautions(b *bytes.Buffer, set post.Set) {
	b.WriteString(`<section id="cautions" aria-labelledby="cautions-h"><h2 id="cautions-h">Cautions</h2><ol class="cautions">`)
	for _, c := range set.Cautions {
		fmt.Fprintf(b, "<li>%s</li>\n", esc(c))
	}
	b.WriteString("</ol></section>\n")
}

func writeFoot(b *bytes.Buffer, set post.Set) {
	fmt.Fprintf(b, `<footer><p>Made by spotjig %s. The cut files decide; this page shows what is in them.</p></footer>`+"\n", esc(set.Version))
}

// writeAlone writes one picture as a file of its own, with the store and the
// picture part of the style sheet inside.
func writeAlone(b *bytes.Buffer, sc *scene, p picture) {
	fmt.Fprintf(b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="%s" font-size="%s" role="img" aria-labelledby="t d">`+"\n", viewBox(p.frame), num(p.font, 2))
	fmt.Fprintf(b, "<metadata>spotjig %s</metadata>\n", esc(sc.set.Version))
	fmt.Fprintf(b, "<title id=\"t\">%s</title>\n<desc id=\"d\">%s</desc>\n<style>%s</style>\n", esc(p.title), esc(p.desc), plainStyle(pictureStyle))
	sc.writeDefs(b)
	fmt.Fprintf(b, `<rect class="sky" x="%s" y="%s" width="%s" height="%s"/>`, num(p.frame.Min.X, 1), num(p.frame.Min.Y, 1), num(p.frame.Width(), 1), num(p.frame.Height(), 1))
	b.WriteString(p.body)
	b.WriteString("\n</svg>\n")
}

// plainStyle returns a style sheet with the values of its variables in their place:
// programs that turn pictures into others seldom know variables and draw black instead.
func plainStyle(style string) string {
	root, rest, _ := strings.Cut(strings.TrimPrefix(style, ":root{"), "}")
	var pairs []string
	for _, v := range strings.Split(root, ";") {
		name, value, _ := strings.Cut(v, ":")
		pairs = append(pairs, "var("+name+")", value)
	}
	return strings.TrimSpace(strings.NewReplacer(pairs...).Replace(rest))
}
