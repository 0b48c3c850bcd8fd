package layout

import "spotjig/layout/geom"

// ToldComparison is a comparison for programs, lengths in mm.
type ToldComparison struct {
	By     string          `json:"by"`
	Date   string          `json:"date"`
	Pass   bool            `json:"pass"` // every place that was read is inside its worst case
	Places []ToldDeviation `json:"places"`
	Unread []string        `json:"unread"` // places of the plan that no reading tells of
}

// ToldDeviation is one place as measured; what was not read is null.
type ToldDeviation struct {
	ID     string        `json:"id"`
	Name   string        `json:"name"`
	Along  *float64      `json:"along"`  // + towards the foot
	Across *float64      `json:"across"` // + to the left
	Others []ToldReading `json:"others"`
	Off    float64       `json:"off"`
	Likely float64       `json:"likely"` // that it may be off; a stated tolerance is both this and worst
	Worst  float64       `json:"worst"`
	Inside bool          `json:"inside"`
}

// ToldReading is a radius or a distance from another place.
type ToldReading struct {
	Name   string  `json:"name"`
	Read   float64 `json:"read"`
	Wanted float64 `json:"wanted"`
}

// Told returns the comparison for programs, rounded to 1e-6 mm.
func (c Comparison) Told() ToldComparison {
	out := ToldComparison{By: c.By, Date: c.Date, Pass: c.Pass, Places: []ToldDeviation{}, Unread: append([]string{}, c.Unread...)}
	for _, d := range c.Lines {
		t := ToldDeviation{ID: d.ID, Name: d.Name, Others: []ToldReading{}, Off: geom.Millionth(d.Off), Likely: geom.Millionth(d.Allowed.Likely), Worst: geom.Millionth(d.Allowed.Worst), Inside: d.Inside}
		if d.HasAlong {
			v := geom.Millionth(d.Along)
			t.Along = &v
		}
		if d.HasAcross {
			v := geom.Millionth(d.Across)
			t.Across = &v
		}
		for _, o := range d.Others {
			t.Others = append(t.Others, ToldReading{o.Name, geom.Millionth(o.Read), geom.Millionth(o.Wanted)})
		}
		out.Places = append(out.Places, t)
	}
	return out
}
