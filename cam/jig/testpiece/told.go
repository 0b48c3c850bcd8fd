package testpiece

import "spotjig/layout/geom"

// Told is what a test piece tells, for programs: lengths in mm, the plus or minus of each
// about 95 %. What was not read is null.
type Told struct {
	Kerf        *Figure    `json:"kerf"` // at the exit face: what material.kerf wants
	KerfX       *Figure    `json:"kerf_x"`
	KerfY       *Figure    `json:"kerf_y"`
	KerfBeam    *Figure    `json:"kerf_beam_face"`
	TaperDeg    *Figure    `json:"taper_deg"`
	Thickness   *Figure    `json:"thickness"`
	ScaleXPPM   *Figure    `json:"scale_x_ppm"`
	ScaleYPPM   *Figure    `json:"scale_y_ppm"`
	SkewMicrons *Figure    `json:"skew_um_per_m"`
	Flank       *float64   `json:"flank_clearance"` // of the socket that fits
	Closure     *float64   `json:"joint_closure"`   // what jig.joint_closure wants
	Slip        *float64   `json:"joint_slip"`      // what jig.joint_slip wants
	Slots       []ToldSlot `json:"slots"`
}

// Figure is a value with its plus or minus.
type Figure struct {
	Value float64 `json:"value"`
	PM    float64 `json:"pm"`
}

// ToldSlot is a slot for a fin's tongue as it came out.
type ToldSlot struct {
	Fit       string  `json:"fit"` // as it was asked for
	Letter    string  `json:"letter"`
	Width     float64 `json:"width"`
	Clearance float64 `json:"clearance"` // more than the sheet's thickness
	Nearest   string  `json:"nearest"`   // the job's word that comes nearest
}

// Told returns the findings for programs.
func (c Findings) Told() Told {
	out := Told{Kerf: c.Kerf.figure(true), KerfX: c.KerfXY[0].figure(c.KerfXY[0].PM > 0), KerfY: c.KerfXY[1].figure(c.KerfXY[1].PM > 0),
		KerfBeam: c.Beam.figure(c.Beam.PM > 0), TaperDeg: c.TaperDeg.figure(c.Beam.PM > 0), Thickness: c.Thickness.figure(c.ThicknessRead),
		ScaleXPPM: c.ScaleX.figure(c.ScaleRead), ScaleYPPM: c.ScaleY.figure(c.ScaleRead), SkewMicrons: c.Skew.figure(c.SkewOK), Slots: []ToldSlot{},
		Flank: rounded(c.Flank, c.FlankRead), Closure: rounded(c.Closure, c.ClosureRead), Slip: rounded(c.Slip, c.SlipRead)}
	for _, s := range c.Slots {
		out.Slots = append(out.Slots, ToldSlot{s.Name, s.Letter, geom.Millionth(s.Width), geom.Millionth(s.Clearance), s.Nearest.Name})
	}
	return out
}

// rounded is v as it is printed; nil if it was not read.
func rounded(v float64, read bool) *float64 {
	if !read {
		return nil
	}
	v = geom.Millionth(v)
	return &v
}

// figure is the estimate as it is printed; nil if it was not read.
func (e Estimate) figure(read bool) *Figure {
	if !read {
		return nil
	}
	return &Figure{geom.Millionth(e.Value), geom.Millionth(e.PM)}
}
