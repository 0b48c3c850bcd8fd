package machine

import (
	"fmt"
	"math"

	"spotjig/layout/geom"
	"spotjig/layout/job"
	"spotjig/layout/problem"
)

// Limits of a sheet, mm.
const (
	ThickMin, ThickMax = 0.05, 25.0
	// KerfMin and KerfMax: published kerfs of laser cutters run from 0.08 to 0.45 mm;
	// what is past 1 mm was measured wrongly or is a saw's.
	KerfMin, KerfMax = 0.01, 1.0
	stockMin         = 50.0
	stockMax         = 10_000.0
	stocksMax        = 20
	stockCountMax    = 1000
	stockPriceMax    = 1_000_000.0
)

// materialFields reads a material section for a machine; what it does not say comes
// from the catalogue entry it is "like", else from its kind, else from the usual
// sheet of the machine's process. What the machine cannot cut is left to checkOn.
func materialFields(f *job.Fields, p Profile) Material {
	m := materialBase(f, p)
	m.Name = f.Text("name", m.Kind, NameMax)
	m.Colour = f.Text("colour", m.Colour, NameMax)
	readThickness(f, &m)
	idleLike(f, p, m)
	m.Ordered = f.Word("ordered", OrderedNothing, OrderedNothing, OrderedPlates)
	readKerf(f, p, &m)
	m.Expansion = ppm * f.Number("expansion_ppm", job.Range{Default: m.Expansion / ppm, Min: -500, Max: 500}, "ppm")
	m.Moisture = ppm * f.Number("moisture_ppm", job.Range{Default: m.Moisture / ppm, Min: 0, Max: 2000}, "ppm")
	m.Density = f.Number("density", job.Range{Default: m.Density, Min: 10, Max: 20_000}, "kg/m3", "kg/m³")
	m.Modulus = 1e9 * f.Number("modulus", job.Range{Default: m.Modulus / 1e9, Min: 0.001, Max: 500}, "GPa")
	m.PowerCap = power(f, "power_cap", p, m.PowerCap)
	m.Sheets = readStocks(f, m.Sheets, p)
	m.Cut = setting(f.Sub("cut"), firstSetting(m, p, cutting), p, m)
	m.Score = setting(f.Sub("score"), firstSetting(m, p, scoring), p, m)
	m.Letter = setting(f.Sub("letter"), firstSetting(m, p, lettering), p, m)
	if p.Process != Shop {
		f.Idle("ordered", "nothing is ordered where a machine of one's own cuts", ifShared)
	}
	switch p.Process {
	case Shop:
		if !m.Measured {
			f.Idle("ordered", "plates without slots for fins are ordered first until the sheet's thickness is measured", "write the thickness of what arrived, as thickness, beside it")
		}
		for _, key := range []string{"power_cap", "cut", "score", "letter"} {
			f.Idle(key, "a shop cuts with settings of its own", ifShared)
		}
	case Knife:
		f.Idle("power_cap", "a blade has no power", ifShared)
	}
	f.Done()
	return m
}

// materialBase is what the section starts from.
func materialBase(f *job.Fields, p Profile) Material {
	m, _ := LookupMaterial(usualSheet(p))
	if like := likeName(f); like != "" {
		found, ok := LookupMaterial(like)
		if !ok {
			f.Fault("like", "M001", unknownName("material", like, MaterialNames()), `"spotjig list materials" shows what is built in`)
		} else {
			m = found
		}
	}
	text := f.Text("kind", m.Kind, NameMax)
	k, ok := kindNamed(text)
	if !ok {
		f.Fault("kind", "M012", fmt.Sprintf("unknown kind of material %q; %s", text, problem.DidYouMean(text, kindNames())),
			"nothing is cut that cannot be named: ask the supplier for the data sheet; looking like acrylic is no proof")
		return m
	}
	if k.name != m.Kind {
		m.become(k)
	}
	return m
}

// usualSheet is the built-in sheet that is cut where none is named.
func usualSheet(p Profile) string {
	if p.Process == Knife {
		return "polyester-film-0.35"
	}
	return "cast-acrylic-5"
}

// MaterialNames lists the built-in materials.
func MaterialNames() []string {
	return names(Materials(), func(m Material) string { return m.Name })
}

// readThickness reads the sheet as sold and as measured.
func readThickness(f *job.Fields, m *Material) {
	read := func(key string, def float64) float64 {
		f.Note(job.Key{Path: key, Form: "length", Limits: fmt.Sprintf("%g mm to %g mm", ThickMin, ThickMax), Default: fmt.Sprintf("%g mm", def), Within: &job.Range{Min: ThickMin, Max: ThickMax}})
		v := f.Length(key, job.Range{Default: def, Min: -1000, Max: 1000})
		if f.Has(key) && (v < ThickMin || v > ThickMax) {
			f.Fault(key, "M011", fmt.Sprintf("a sheet %g mm thick is outside %g to %g mm", v, ThickMin, ThickMax), "measure the sheet with a caliper at four places and give the mean")
			return def
		}
		return v
	}
	m.Sold = read("sold", m.Sold)
	m.Thickness = read("thickness", m.Sold)
	m.Measured = f.Has("thickness")
	if !f.Has("sold") && m.Measured {
		m.Sold = soldBy(m.Sold, m.Thickness)
	}
}

// soldBy is what a sheet of that thickness is sold as where nobody says so: as the one it
// starts from, if that may be so thick.
func soldBy(start, thickness float64) float64 {
	if math.Abs(start-thickness) > soldTol(thickness) {
		return thickness
	}
	return start
}

// idleLike notes a built-in sheet that says nothing beside the section's own keys. Such a
// sheet is a kind and a thickness as sold, no more: what else there is of it goes by kind.
func idleLike(f *job.Fields, p Profile, m Material) {
	usual, _ := LookupMaterial(usualSheet(p))
	if f.Has("kind") && (f.Has("sold") || m.Measured && m.Sold == soldBy(usual.Sold, m.Thickness)) {
		f.Idle("like", "kind and thickness beside it say what the sheet is", "remove it, or those where it is to hold")
	}
}

// soldTol is how far a sheet may be from what it is sold as: 0.4 + 0.1 t, the
// widest of the published tolerances (cast sheet, ISO 7823-1 as quoted by makers).
func soldTol(t float64) float64 { return 0.4 + 0.1*t }

// readKerf reads the width of cut. A blade has none worth the name.
func readKerf(f *job.Fields, p Profile, m *Material) {
	if p.Process == Knife {
		m.Kerf, m.KerfPM = 0, 0
	}
	f.Note(job.Key{Path: "kerf", Form: "length", Limits: fmt.Sprintf("%g mm to %g mm; a blade or a shop may have 0", KerfMin, KerfMax), Default: fmt.Sprintf("%g mm", m.Kerf), Within: &job.Range{Min: 0, Max: KerfMax}})
	v := f.Length("kerf", job.Range{Default: m.Kerf, Min: -1000, Max: 1000})
	lo := KerfMin
	if p.Process != Laser {
		lo = 0
	}
	switch {
	case f.Has("kerf") && (v < lo || v > KerfMax):
		f.Fault("kerf", "M010", fmt.Sprintf("a kerf of %g mm is outside %g to %g mm", v, lo, KerfMax), `cut a test piece ("spotjig coupon") and measure the kerf at the exit face; acrylic is 0.1 to 0.3 mm`)
	case !f.Has("kerf") && v == 0 && p.Process == Laser && laserMay(*m):
		f.Missing("kerf", "no usual kerf is known for this material: cut a test piece and measure it")
	default:
		m.Kerf = v
	}
	m.KerfPM = f.Length("kerf_pm", job.Range{Default: m.KerfPM, Min: 0, Max: KerfMax / 2})
}

// readStocks reads the sizes of sheet at hand; one as large as the machine's travel
// when none is named.
func readStocks(f *job.Fields, def []Stock, p Profile) []Stock {
	items := f.Items("sheets", stocksMax)
	if items == nil {
		switch {
		case len(def) > 0:
		case p.Process == Shop:
			def = []Stock{{Width: 1000, Height: 600}}
		default:
			def = []Stock{{Width: job.OnGrid(p.Max.X - p.Min.X), Height: job.OnGrid(p.Max.Y - p.Min.Y)}}
		}
		for i, s := range def {
			at := fmt.Sprintf("sheets[%d].", i)
			f.SettleAs(at+"width", job.Exact(s.Width)+" mm", false)
			f.SettleAs(at+"height", job.Exact(s.Height)+" mm", false)
			f.SettleAs(at+"price", job.Exact(s.Price), false)
		}
		return def
	}
	var out []Stock
	for _, s := range items {
		side := job.Range{Min: stockMin, Max: stockMax}
		st := Stock{Width: s.Length("width", side), Height: s.Length("height", side)}
		st.Count = s.Whole("count", job.Range{Min: 1, Max: stockCountMax})
		st.Price = s.Number("price", job.Range{Max: stockPriceMax})
		for _, key := range []string{"width", "height"} {
			if !s.There(key) {
				s.Missing(key, "write sheets: [{width: 600, height: 400}]")
			}
		}
		s.Done()
		out = append(out, st)
	}
	return out
}

// ifShared is what to do with a key that another process would use: a sheet's or a
// machine's file may serve several.
const ifShared = "remove it, unless it is for another machine that the file serves as well"

// The kinds of cut.
type cutKind int

const (
	cutting cutKind = iota
	scoring
	lettering
)

// firstSetting is where a first trial starts, not proven by anybody. For a laser:
// 80, 15 and 12 % of full power at a feed that falls with thickness, 12 mm/s in
// 5 mm sheet (inside the 8 to 18 mm/s of a published study of 4 mm acrylic at 82
// to 98 W, Kechagias et al. 2021); common practice for the rest. For a blade:
// through the sheet and 0.1 mm into the mat, half through, and a third.
func firstSetting(m Material, p Profile, c cutKind) Setting {
	if p.Process == Knife {
		// Lines and letters only part the skin: half through, film snaps along them.
		depth := [...]float64{-m.Thickness - 0.1, -math.Min(0.15, m.Thickness/2), -math.Min(0.1, m.Thickness/3)}[c]
		return Setting{Feed: min(40, p.FeedMax), Passes: 1, Depth: math.Max(geom.Millionth(depth), p.Knife.ZFloor)}
	}
	share := [...]float64{0.8, 0.15, 0.12}[c]
	v := [...]float64{60 / m.Thickness, 60, 80}[c]
	cap := p.PowerScale
	if m.PowerCap > 0 {
		cap = m.PowerCap
	}
	return Setting{
		Power:  math.Min(share*p.PowerScale, cap),
		Feed:   Feed(math.Min(math.Round(v*10)/10, float64(p.FeedMax))),
		Passes: 1,
	}
}

// setting reads one kind of cut.
func setting(f *job.Fields, def Setting, p Profile, m Material) Setting {
	s := Setting{
		Power:  power(f, "power", p, def.Power),
		Feed:   feed(f, "feed", def.Feed),
		Passes: f.Whole("passes", job.Range{Default: float64(def.Passes), Min: 1, Max: 20}),
		Depth:  f.Length("depth", job.Range{Default: def.Depth, Min: -ThickMax, Max: 0}),
		Proven: f.Text("proven", "", NameMax),
	}
	if p.Process != Shop {
		tooFast(f, "feed", s.Feed, p)
	}
	if m.PowerCap > 0 && s.Power > m.PowerCap {
		f.Fault("power", "M013", fmt.Sprintf("power %g is above the material's cap of %g", s.Power, m.PowerCap), "lower the power, or the cap is wrong")
	}
	switch p.Process {
	case Knife:
		f.Idle("power", "a blade has no power", ifShared)
	case Laser:
		f.Idle("depth", "a beam goes as deep as its power and feed let it", ifShared)
	}
	if p.Process == Knife && s.Depth < p.Knife.ZFloor {
		f.Fault("depth", "M016", fmt.Sprintf("a depth of %g mm is below the machine's floor at %g mm", s.Depth, p.Knife.ZFloor), "cut no deeper than the sheet and a little of the mat")
	}
	if p.Process == Knife && f.Has("depth") && s.Depth == 0 {
		f.Fault("depth", "M016", "a depth of 0 mm cuts nothing", "depths count from the sheet's upper face and are negative: -0.45")
	}
	f.Done()
	return s
}

// power reads an S value or a share of full power; it may not pass the machine's
// full scale.
func power(f *job.Fields, key string, p Profile, def float64) float64 {
	f.Note(job.Key{Path: key, Form: "power, in the machine's own units or %", Limits: "0 to the machine's power_scale", Default: fmt.Sprintf("%g", def), Units: []string{"%"}})
	text, ok := f.Plain(key, NameMax)
	if !ok {
		f.Settle(key, job.Exact(def))
		return def
	}
	v, msg, help := job.ParseNumber(text, "%")
	percent := msg == "" && len(text) > 0 && text[len(text)-1] == '%'
	if percent {
		v *= p.PowerScale / 100
	}
	switch {
	case msg != "":
		f.Fault(key, "J005", msg, help)
	case p.Process == Laser && (v < 0 || v > p.PowerScale):
		f.Fault(key, "M013", fmt.Sprintf("power %s is outside 0 to %g, the machine's full scale", text, p.PowerScale), "give the power in the machine's own units (power_scale) or in percent")
	case v < 0 || v > 1_000_000:
		f.Fault(key, "M013", fmt.Sprintf("power %s is no power", text), "give the power in the machine's own units")
	default:
		f.Settle(key, job.Exact(v))
		return v
	}
	return def
}
