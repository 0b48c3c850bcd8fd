package machine

import (
	"slices"

	"spotjig/layout/geom"
)

// Profiles returns the machines that are built in: plain sizes, for a first look
// and as a base for a profile of one's own ("like: laser-600x400").
func Profiles() []Profile {
	return []Profile{
		builtinLaser("small-laser-300x200", 300, 200),
		builtinLaser("laser-600x400", 600, 400),
		builtinLaser("laser-900x600", 900, 600),
		builtinLaser("laser-1300x900", 1300, 900),
		builtinKnife("knife-600x300", 600, 300),
		builtinKnife("knife-1200x600", 1200, 600),
		builtinRouter("router-600x400", 600, 400),
		shopDefaults("shop"),
	}
}

// builtinLaser is a gas laser of that travel with work zero at its corner.
func builtinLaser(name string, x, y float64) Profile {
	p := laserDefaults(name)
	p.Max.X, p.Max.Y = x, y
	p.Wavelength = 10600
	p.setController("line-streamed")
	p.Offsets = map[int]Axes{1: {}}
	return p
}

// builtinKnife is a flat cutter of that travel with work zero at its corner, on
// the sheet's upper face.
func builtinKnife(name string, x, y float64) Profile {
	p := knifeDefaults(name)
	p.Max.X, p.Max.Y = x, y
	p.Min.Z, p.Max.Z = p.Knife.ZFloor, p.Knife.ZFloor+builtinKnifeZ
	p.Offsets = map[int]Axes{1: {}}
	p.setController("line-streamed")
	return p
}

// builtinRouter is a router of that travel with work zero at its corner, on the upper
// face of what it cuts.
func builtinRouter(name string, x, y float64) Profile {
	p := routerDefaults(name)
	p.Max.X, p.Max.Y = x, y
	p.Min.Z, p.Max.Z = p.Floor, p.Floor+builtinRouterZ
	p.Offsets = map[int]Axes{1: {}}
	p.setController("line-streamed")
	return p
}

// builtinRouterZ is the travel of a bench router's spindle, mm: common practice.
const builtinRouterZ = 80

// builtinKnifeZ is the travel of a knife head, mm: common practice.
const builtinKnifeZ = 20

// laserDefaults is a laser about which nothing is said. Speeds and accelerations
// are what a small gantry manages (common practice); they move the time estimate
// and the feed limit, nothing else.
func laserDefaults(name string) Profile {
	return Profile{
		Name: name, Process: Laser,
		BeamWord: "M4", PowerScale: 1000, PierceMax: 0.5, StillMax: 1,
		FeedMax: 200, RapidMax: 300, AccelCut: 1500, AccelRap: 3000, Junction: 0.02,
		LineMax: lineReport, NoArcCenterAbs: true,
		MarginBed: 5, SupportGrid: 12,
		Writing: Writing{}.Filled(),
	}
}

// lineReport is the longest line of the published report, NIST IR 6556 section 3.3.
const lineReport = 256

// knifeDefaults is a drag knife about which nothing is said: an offset of 0.45 mm
// inside the 0.175 to 1 mm that blades are sold with, a 45 degree edge, and heights
// for film on a soft mat (common practice). Sheet up to 1 mm.
func knifeDefaults(name string) Profile {
	p := laserDefaults(name)
	p.Process, p.HasZ = Knife, true
	p.BeamWord, p.PowerScale, p.PierceMax, p.StillMax = "", 0, 0, 0
	p.FeedMax, p.RapidMax, p.AccelCut, p.AccelRap = 200, 200, 1000, 2000
	p.Knife = KnifeProfile{
		Offset: 0.45, Wedge: 45 * geom.Degree,
		ZUp: 5, ZSkin: -0.1, ZFloor: -1.2,
		Plunge: 5, Lift: 20, Swivel: 5,
		SwivelMax: 25 * geom.Degree, ArcMin: 0.9, ArcTight: ArcsRefuse, Misalign: 1 * geom.Degree,
		SheetMax: 1,
	}
	return p
}

// routerDefaults is a router about which nothing is said: a floor 25 mm below the face
// of the sheet, speeds of a bench machine (common practice).
func routerDefaults(name string) Profile {
	p := laserDefaults(name)
	p.Process, p.HasZ, p.HasSpindle = Router, true, true
	p.BeamWord, p.PowerScale, p.PierceMax, p.StillMax = "", 0, 0, 0
	p.FeedMax, p.RapidMax, p.AccelCut, p.AccelRap = 100, 100, 500, 500
	p.Floor = -25
	return p
}

// shopDefaults is a shop that takes drawings.
func shopDefaults(name string) Profile {
	p := laserDefaults(name)
	p.Process = Shop
	return p
}

// Materials returns the sheets that are built in. Their thickness is as sold and
// not measured, and no setting is proven.
func Materials() []Material {
	return []Material{
		sheet("cast-acrylic-3", "cast acrylic", 3),
		sheet("cast-acrylic-5", "cast acrylic", 5),
		sheet("cast-acrylic-6", "cast acrylic", 6),
		sheet("cast-acrylic-8", "cast acrylic", 8),
		sheet("extruded-acrylic-3", "extruded acrylic", 3),
		sheet("extruded-acrylic-5", "extruded acrylic", 5),
		sheet("polyester-film-0.35", "polyester film", 0.35),
		sheet("card-1", "card", 1),
		sheet("polypropylene-0.8", "polypropylene", 0.8),
		sheet("vinyl-0.3", "vinyl", 0.3),
		sheet("abs-3", "abs", 3),
		sheet("polycarbonate-3", "polycarbonate", 3),
		sheet("birch-plywood-4", "birch plywood", 4),
	}
}

// sheet is a sheet of a kind as sold, not measured and without settings.
func sheet(name, of string, sold float64) Material {
	k, _ := kindNamed(of)
	m := Material{Name: name, Sold: sold, Thickness: sold, Ordered: OrderedNothing}
	m.become(k)
	return m
}

// become gives the sheet a kind's properties.
func (m *Material) become(k kind) {
	m.Kind, m.Density, m.Modulus = k.name, k.density, k.modulus
	m.Expansion, m.Moisture = k.expansion, k.moisture
	m.Kerf, m.KerfPM = k.kerf, k.kerfPM
}

// Called is what people call the sheet, so that they take the right one off the rack: its
// kind and colour, and its own name where it has one.
func (m Material) Called() string {
	out := m.Kind
	if m.Colour != "" {
		out += ", " + m.Colour
	}
	if m.Named() {
		out += " (" + m.Name + ")"
	}
	return out
}

// Named tells whether somebody gave the sheet a name: not its kind, nor that of one built in.
func (m Material) Named() bool {
	_, builtIn := LookupMaterial(m.Name)
	return m.Name != "" && m.Name != m.Kind && !builtIn
}

// Lookup returns the built-in machine of that name.
func Lookup(name string) (Profile, bool) {
	all := Profiles()
	i := slices.IndexFunc(all, func(p Profile) bool { return plainWord(p.Name) == plainWord(name) })
	if i < 0 {
		return Profile{}, false
	}
	return all[i], true
}

// LookupMaterial returns the built-in material of that name.
func LookupMaterial(name string) (Material, bool) {
	all := Materials()
	i := slices.IndexFunc(all, func(m Material) bool { return plainWord(m.Name) == plainWord(name) })
	if i < 0 {
		return Material{}, false
	}
	return all[i], true
}
