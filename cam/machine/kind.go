package machine

import "strings"

// kind is what is known of a kind of sheet whatever its thickness.
type kind struct {
	name    string
	also    []string // other words for it
	density float64  // kg/m³
	// expansion per kelvin, moisture as strain per % relative humidity.
	expansion, moisture float64
	modulus             float64 // Pa
	noLaser             string  // why a laser must not cut it; "" when it may
	noKnife             string  // why a drag knife cannot; "" when it can
	kerf, kerfPM        float64 // laser, mm
}

// ppm is a millionth.
const ppm = 1e-6

// The reasons more than one kind shares. They follow the lists of materials that
// university workshops print beside their laser cutters (University of Texas at
// Austin, School of Architecture, prohibited laser materials; University of
// Illinois Chicago, approved materials; University of the Arts London; X-P).
const (
	whyChlorine = "a beam makes hydrogen chloride from it: poisonous, and it eats optics and guides"
	whyCyanide  = "burning it gives off cyanide and other poisonous fume"
	whyFluorine = "a beam makes poisonous fluorine compounds from it"
	whyMelt     = "it melts and drips burning"
	whyBanned   = "it catches fire and its fume is not known to be safe"
	whyBrittle  = "a dragged blade cannot cut rigid sheet"
)

// kinds is the table of kinds of sheet. Figures, in this order of trust: acrylic
// expansion and density from makers' pages (70 µm/m K lies between 60 and 77;
// 1.19 g/cm³); acrylic moisture from a maker of extruded sheet (0.2 % at 60 %
// relative humidity from dry); polyester film from its data sheet (17 µm/m K,
// 1390 kg/m³); ranges for other plastics from tables of polymers; what is marked
// "memory" was written from memory and only moves a warning.
func kinds() []kind {
	return []kind{
		{name: "cast acrylic", also: []string{"cast pmma"}, density: 1190, expansion: 70 * ppm, moisture: 33 * ppm, modulus: 3.2e9, noKnife: whyBrittle, kerf: 0.18, kerfPM: 0.06},
		{name: "extruded acrylic", also: []string{"extruded pmma"}, density: 1190, expansion: 70 * ppm, moisture: 33 * ppm, modulus: 3.2e9, noKnife: whyBrittle, kerf: 0.18, kerfPM: 0.06},
		{name: "polyester film", also: []string{"pet film"}, density: 1390, expansion: 17 * ppm, moisture: 6 * ppm, modulus: 4.5e9, noLaser: whyBanned},    // modulus, moisture: memory
		{name: "card", also: []string{"solid card", "board"}, density: 800, expansion: 10 * ppm, moisture: 80 * ppm, modulus: 2e9, kerf: 0.2, kerfPM: 0.1}, // 0.4 % over 50 % humidity across the grain, step assumed; rest memory
		{name: "polypropylene", also: []string{"pp"}, density: 905, expansion: 90 * ppm, modulus: 1.4e9, noLaser: whyMelt},                                 // modulus: memory
		{name: "vinyl", also: []string{"pvc", "vinyl film", "pvc film", "self-adhesive vinyl"}, density: 1380, expansion: 75 * ppm, modulus: 2.5e9, noLaser: whyChlorine},
		{name: "abs", density: 1050, expansion: 80 * ppm, modulus: 2.2e9, noLaser: whyCyanide},                                                                                     // memory
		{name: "polycarbonate", also: []string{"pc"}, density: 1200, expansion: 67 * ppm, modulus: 2.3e9, noLaser: "it absorbs badly, discolours and flames", noKnife: whyBrittle}, // memory
		{name: "petg", also: []string{"polyester sheet", "pet sheet"}, density: 1270, expansion: 65 * ppm, modulus: 2.1e9, noLaser: whyBanned},
		{name: "hdpe", also: []string{"polyethylene"}, density: 950, expansion: 120 * ppm, modulus: 1e9, noLaser: whyMelt}, // memory
		{name: "polystyrene", also: []string{"styrene"}, density: 1050, expansion: 70 * ppm, modulus: 3e9, noLaser: whyMelt},
		{name: "foam board", also: []string{"foam", "polystyrene foam", "pp foam"}, density: 100, expansion: 60 * ppm, modulus: 1e7, noLaser: "foam melts, drips burning and is a main cause of fires in laser cutters"},
		{name: "ptfe", also: []string{"fluoropolymer"}, density: 2200, expansion: 130 * ppm, modulus: 5e8, noLaser: whyFluorine},
		{name: "epoxy glass", also: []string{"fibreglass", "fiberglass", "fr4", "epoxy"}, density: 1850, expansion: 15 * ppm, modulus: 2e10, noLaser: whyCyanide, noKnife: whyBrittle},
		{name: "carbon fibre", also: []string{"carbon fiber"}, density: 1600, expansion: 2 * ppm, modulus: 5e10, noLaser: whyCyanide, noKnife: whyBrittle},
		{name: "polyurethane", also: []string{"pu"}, density: 1200, expansion: 100 * ppm, modulus: 5e7, noLaser: whyCyanide},
		{name: "rubber", density: 1100, expansion: 150 * ppm, modulus: 5e6, noLaser: whyBanned},
		{name: "birch plywood", also: []string{"plywood"}, density: 680, expansion: 6 * ppm, moisture: 30 * ppm, modulus: 8e9, noKnife: whyBrittle, kerf: 0.2, kerfPM: 0.1}, // memory
	}
}

// kindNamed returns the kind of that name, however spelt.
func kindNamed(name string) (kind, bool) {
	want := plainWord(name)
	for _, k := range kinds() {
		for _, n := range append([]string{k.name}, k.also...) {
			if plainWord(n) == want {
				return k, true
			}
		}
	}
	return kind{}, false
}

// kindNames lists every word that names a kind.
func kindNames() []string {
	return names(kinds(), func(k kind) string { return k.name })
}

// joiner drops what people part the words of a name with.
var joiner = strings.NewReplacer(" ", "", "-", "", "_", "")

// plainWord lowers a name and drops blanks and hyphens.
func plainWord(s string) string {
	return joiner.Replace(strings.ToLower(s))
}
