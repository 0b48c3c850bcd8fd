package view

import (
	"bytes"
	"fmt"
	"strings"

	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/post"
)

// step is one thing to do at the table: with the template, or by tape at one place.
type step struct {
	name, text string
	tape       *layout.TapePlace // by tape; nil: with the template
}

// steps are what is done at the table, in order: each template laid, centred, tried and
// marked with, then every place by tape, to mark it by or to measure it when marked.
func steps(set post.Set) []step {
	var out []step
	if len(set.Jig.Settings) > 0 {
		out = append(out, step{name: "Set the leaves", text: "By the table's measured length and the list in the job sheet: so many leaves behind both shoes of a template, pressed home and taped over the tops. Marks with another number are marked in a second laying."})
	}
	for _, t := range set.Templates() {
		stand := "blocks"
		for _, p := range set.Jig.Parts {
			if p.Template == t && p.OnTable.Upright {
				stand = "fins"
				if p.Role.Box() {
					stand = "boxes"
				}
			}
		}
		var marks []string
		for _, m := range set.Served(t) {
			marks = append(marks, m.Name)
		}
		out = append(out,
			step{name: "Lay the " + t + " template", text: "Cloth cold and brushed. Put the pieces together on the bed, face up, and slide the template until both end " + stand + " touch the " + t + " nose: a strip of paper at each just drags."},
			step{name: "Centre the " + t + " template", text: "Push the side " + stand + " out to the side noses; shift the template until both scales read the same. Then the ends again."},
			step{name: "Try it", text: "With a tape, against the places below: one spot, and one end of a line. Further off than the template's error: stop and find out why."},
			step{name: "Mark with the " + t + " template", text: "Spots first, marker upright, then arcs, then lines, the marker's foot along the edge with the dash: " + strings.Join(marks, "; ") + "."})
	}
	for _, g := range set.Jig.Gauges {
		spot := set.Called(g.Mark)
		out = append(out, step{name: "Mark the " + spot + " by thread and gauge", text: "Both templates still lie where they were centred. A thread over both scored centre lines, the gauge under it, by tape to where the job sheet says; turned until the thread covers its line: the " + spot + " through its hole."})
	}
	if len(out) > 0 {
		out = append(out, step{name: "Take it up", text: "Tape off, piece by piece, straight up. Close the gaps of lines with a straightedge, of arcs by hand. Then measure what is marked."})
	}
	for i := range set.Tape {
		out = append(out, step{name: set.Tape[i].Name, tape: &set.Tape[i]})
	}
	return out
}

// writeSteps writes the view for the phone at the table: one step at a time where the
// script runs, a list where it does not, with fields for what is read after marking.
func writeSteps(b *bytes.Buffer, set post.Set) {
	all := steps(set)
	if len(all) == 0 {
		return
	}
	b.WriteString(`<section id="at-table" aria-labelledby="at-table-h"><h2 id="at-table-h">At the table</h2><p class="hint">The steps and the tape card in large type, one at a time, for the phone. It needs no network and opens where you left it. What you read after marking is kept here too.</p>
<div class="row"><button type="button" id="walk">One step at a time</button></div>
<div class="walkbar" id="walkbar" hidden><button type="button" id="walk-back">◀ Back</button><span id="walk-at" role="status"></span><button type="button" id="walk-next">Next ▶</button><button type="button" id="walk-end">Close</button></div>
`)
	fmt.Fprintf(b, `<details id="all-steps"><summary>All %s as a list</summary><ol class="steps">`+"\n", figure.Count(len(all), "step"))
	where := map[string]layout.Place{}
	for _, m := range set.Marks {
		for _, p := range m.Places() {
			where[p.ID] = p
		}
	}
	for i, s := range all {
		if s.tape == nil {
			fmt.Fprintf(b, `<li class="step"><h3>%s</h3><p>%s</p></li>`+"\n", esc(s.name), esc(s.text))
			continue
		}
		writePlace(b, fmt.Sprintf("r%d", i), *s.tape, where[s.tape.ID])
	}
	b.WriteString(`</ol></details>
<details id="readings"><summary>Readings for <code>spotjig marked</code></summary><p class="hint">From the fields of the steps. Save it and run: spotjig marked JOB readings.txt</p><textarea id="readings-text" readonly rows="8" aria-label="Readings as text"></textarea><div class="row"><button type="button" id="copy">Copy</button><button type="button" id="save">Save as readings.txt</button><button type="button" id="forget">Empty the fields</button><span id="copied" role="status"></span></div></details></section>
`)
}

// writePlace writes one place of the tape card with its fields.
func writePlace(b *bytes.Buffer, id string, c layout.TapePlace, at layout.Place) {
	name := esc(c.Name)
	fmt.Fprintf(b, `<li class="step place" data-name="%s" data-x="%s" data-y="%s"><h3>%s</h3><dl>`, name, num(at.X, 3), num(at.Y, 3), name)
	rows := [][2]string{{"from the " + c.End, c.End}, {"from the " + c.Side, c.Side}}
	for k, d := range []float64{c.EndDist, c.SideDist} {
		text := figure.Length(d)
		if figure.MM(d) == figure.MM(0) {
			text = "at it"
		}
		fmt.Fprintf(b, `<div><dt>%s</dt><dd>%s</dd></div>`, esc(rows[k][0]), esc(text))
	}
	if c.Radius > 0 {
		fmt.Fprintf(b, `<div><dt>radius</dt><dd>%s</dd></div>`, esc(figure.Length(c.Radius)))
	}
	fmt.Fprintf(b, `<div><dt>check: from %s</dt><dd>%s</dd></div></dl><p class="read">`, esc(c.CheckAs), esc(figure.Length(c.CheckBy)))
	field := func(word string) {
		fmt.Fprintf(b, `<label>read, %s <input type="text" inputmode="decimal" autocomplete="off" size="9" id="%s-%s" data-word="%s"></label> `, word, id, word, word)
	}
	for k, d := range []float64{c.EndDist, c.SideDist} {
		if word, _, _ := strings.Cut(rows[k][1], " "); figure.MM(d) != figure.MM(0) {
			field(esc(word))
		}
	}
	if c.Radius > 0 {
		field("radius")
	}
	b.WriteString("</p></li>\n")
}
