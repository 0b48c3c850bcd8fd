package bridge

import (
	"bytes"
	"fmt"
	"strings"

	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/layout/job"
	"spotjig/layout/problem"
	"spotjig/layout/screen"
	"spotjig/post/work"
)

// ReadingsName is what a page calls the readings of finished marks.
const ReadingsName = "readings.txt"

// Taken is one step of the tape card as read on the cloth; "" was not taken.
type Taken struct {
	ID   string `json:"id"`
	End  string `json:"end"`
	Side string `json:"side"`
}

// Readings writes what was read at the steps of a job as a readings file.
func Readings(text string, taken []Taken) (string, error) {
	o, err := read(text)
	if err != nil {
		return "", err
	}
	places := map[string]layout.TapePlace{}
	for _, c := range layout.TapeCard(o.Request(), o.Plan) {
		places[c.ID] = c
	}
	var b strings.Builder
	for _, t := range taken {
		c, known := places[t.ID]
		var distances []string
		for _, r := range [][2]string{{c.End, t.End}, {c.Side, t.Side}} {
			// A line end or a comma that was typed would begin another place or distance.
			if mm := strings.Join(strings.FieldsFunc(r[1], func(c rune) bool { return c == '\n' || c == '\r' || c == ',' }), " "); mm != "" {
				distances = append(distances, strings.TrimSuffix(r[0], " nose")+" "+strings.TrimSpace(mm))
			}
		}
		if known && len(distances) > 0 {
			fmt.Fprintf(&b, "%s: %s\n", t.ID, strings.Join(distances, ", "))
		}
	}
	return b.String(), nil
}

// Compared is finished marks held against the plan.
type Compared struct {
	Faults  []Fault  `json:"faults"`
	Pass    bool     `json:"pass"`
	Verdict string   `json:"verdict"`
	Places  []Place  `json:"places"`
	Unread  []string `json:"unread"`
	Record  string   `json:"record"` // to sign and keep, as the command prints it
}

// Place is how far off one finished place is.
type Place struct {
	Name   string `json:"name"`
	Off    string `json:"off"`
	Inside bool   `json:"inside"`
}

// Comparer compares finished marks with jobs' plans. It keeps the errors that the last job's
// marks are allowed: a jig has to be designed to know them, and the page compares again at
// every key that is typed.
type Comparer struct {
	text    string
	order   *work.Order
	allowed func(layout.Mark) layout.Allowed
}

// Compare holds a readings file against a job's plan.
func (k *Comparer) Compare(text, readings, version string) Compared {
	out := Compared{Places: []Place{}, Unread: []string{}}
	if k.order == nil || k.text != text {
		o, err := read(text)
		if err != nil {
			out.Faults = faultsOf(err)
			return out
		}
		*k = Comparer{text, o, o.Allowed()}
	}
	o := k.order
	found, err := layout.ReadReadings(strings.NewReader(readings), ReadingsName)
	if err != nil {
		out.Faults = faultsOf(err)
		return out
	}
	c, err := layout.Compare(o.Request(), o.Plan, found, k.allowed)
	if err != nil {
		out.Faults = faults(problem.From(err).Sorted())
		return out
	}
	var b bytes.Buffer
	t := o.Job.Table
	if err := layout.WriteComparison(&b, c, layout.RecordOptions{Job: o.Job.Name, Version: version,
		Table: figure.By(t.L, t.W), Look: screen.Look{Inches: o.Job.Units == job.UnitsInch}}); err != nil {
		out.Faults = faultsOf(err)
		return out
	}
	out.Faults, out.Pass, out.Record, out.Unread = []Fault{}, c.Pass, b.String(), append(out.Unread, c.Unread...)
	within := "its own tolerance"
	if mm, ok := c.Alike(); ok {
		within = figure.MM(mm)
	}
	out.Verdict = "every place that was read is within " + within
	if !c.Pass {
		out.Verdict = "a place is outside " + within
	}
	for _, d := range c.Lines {
		out.Places = append(out.Places, Place{d.Name, figure.MM(d.Off), d.Inside})
	}
	return out
}
