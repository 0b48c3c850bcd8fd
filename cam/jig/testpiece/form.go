package testpiece

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strings"

	"spotjig/layout/figure"
)

// FormOptions are what a form names besides the sizes.
type FormOptions struct {
	Job, Material, Version string
}

// WriteForm writes the form for a test piece's readings: what to measure, how,
// with which formula, and the keys to fill in. ReadForm reads it back.
func WriteForm(w io.Writer, c Cut, opt FormOptions) error {
	b := bufio.NewWriter(w)
	line := func(form string, a ...any) { fmt.Fprintf(b, form+"\n", a...) }
	line("# spotjig %s: readings of a test piece", plainLine(opt.Version))
	line("# job: %s", plainLine(opt.Job))
	line("# sheet: %s", plainLine(opt.Material))
	b.WriteString(formHead)
	line("cut:                                # what was cut; leave as it is")
	part := func(key, value, what string) { line("%-35s # %s", fmt.Sprintf("  %s: %s", key, value), what) }
	part("thickness", figure.Short(c.Thickness, 3)+" mm", "of the sheet, by the job")
	part("kerf", figure.Short(c.Kerf, 3)+" mm", "that the program allowed for")
	part("pieces", fmt.Sprint(c.Pieces), "in each comb: n below")
	part("comb", figure.Short(c.Comb, 3)+" mm", "between its outermost lines: L below")
	part("square", figure.Short(c.Square, 3)+" mm", "its side")
	part("flank", figure.Short(c.Flank, 3)+" mm", "clearance a flank of the jig's own dovetails")
	part("joint", c.joint(), "of J1 and J2, as the job's")
	part("ticks_x", figure.Short(c.ScaleX, 3)+" mm", "A to B, D to C")
	part("ticks_y", figure.Short(c.ScaleY, 3)+" mm", "A to D, B to C")
	line("  flanks: [%s]", list(c.Flanks))
	line("  slots: [%s]", list(c.Slots))
	var fits []string
	for _, f := range c.Fits {
		fits = append(fits, fmt.Sprintf("%s: %s", f.Name, figure.Short(f.Clearance, 3)))
	}
	line("  fits: {%s}", strings.Join(fits, ", "))
	fmt.Fprintf(b, formBody, c.Pieces, figure.Short(c.Comb, 3), SlotLetter(max(0, len(c.Slots)-1)), len(c.Flanks))
	b.WriteString(formJoint[c.joint()])
	b.WriteString(formTicks)
	line("# Nominal: A-B and D-C %s mm, A-D and B-C %s, A-C and B-D %.2f", figure.Short(c.ScaleX, 3), figure.Short(c.ScaleY, 3), math.Hypot(c.ScaleX, c.ScaleY))
	line("ticks:")
	for _, name := range spanNames() {
		line("  %s: []", name)
	}
	return b.Flush()
}

// formHead tells how to go about it.
const formHead = `#
# Copy this file out of its folder, fill the copy in, then run
#     spotjig kerf COPY
# Write readings between the brackets, with commas between them and decimal points:
#     comb_x: [129.10, 129.11, 129.10]
# Three or more of each tell how well you repeat. What you leave empty was not read.
# Let everything cool for half an hour; peel the film; brush crumbs off, do not scrape.
# Letters up is beam side up: the beam came from there. The other face is the exit face.

by:
date:

`

// formBody is the part to fill in: pieces, comb length, last slot, sockets.
const formBody = `
caliper: {step: 0.01, pm: 0.02}   # last digit, and what its maker allows it to be off
rule: {step: 0.5, pm: 0.2}        # for the ticks: steel rule or tape; its division

# Thickness of the sheet, at four places away from cut edges.
thickness: []

# Combs. Push the %[1]d pieces of one comb together in the order of their numbers, all
# letters up, on a flat plate against a straightedge, and measure across all of them:
# that is M. Comb X measures along x, comb Y along y.
#     kerf where the pieces are wider = (L - M) / n        L = %[2]s mm, n = %[1]d
comb_x: []
comb_y: []
# Now turn the second, fourth, sixth ... piece over and measure again: that is T.
#     the other face: piece = (2 T - (n+1) M/n) / (n-1), kerf = L/n - piece
#     taper of each wall = atan((beam kerf - exit kerf) / 2 / thickness)
comb_x_turned: []
comb_y_turned: []
# Look along the cut of a piece: most beams cut wider where they enter, so that pieces
# are narrower on the lettered face. If yours does the opposite, write exit.
kerf_wider_at: beam

# The square, across its middle, along x and along y: a check on everything else.
square_x: []
square_y: []

# Try the tongue, square to the plate, in the slots A to %[3]s. The letter of the slot
# that needs a firm push (press), that goes in by hand without shake (slide), that
# falls in (loose).
slot_press:
slot_slide:
slot_loose:
# Try the tail in the sockets 1 to %[4]d from above, letters up: the lowest number that
# goes in by hand.
socket:
# SPOT and PEN on the square: the marker runs in both without more than 0.3 mm of play.
`

// formJoint is how the joint is read, by its form.
var formJoint = map[string]string{"keyed": `
# The joint. Lay J1 and J2 on the flat plate, letters up, and J1's tail into J2 from above;
# drop key JK1, letters up, into the notch beside the tail and push it home with a thumb.
# Then try feeler leaves between the shoulders left and right of the tail, and between
# the tail's straight flank and its socket: write the thinnest that does not go in. Two
# leaves laid together are as thick as both. Done, push the key out by its small end: one
# left in bends the tail for good (creep).
joint_left: []
joint_right: []
joint_flank: []
`, "dovetail": `
# The joint. Lay J1 and J2 on the flat plate, letters up, J1's tail into J2 from above, and
# press them together by hand as the jig's tape does. Try feeler leaves between the
# shoulders left and right of the tail: write the thinnest that does not go in. Then slide
# J1 sideways as far as it goes, still pressed together, and try the leaves beside the
# tail on the side that opened. Two leaves laid together are as thick as both.
joint_left: []
joint_right: []
joint_flank: []
`}

// formTicks is the part to fill in below the sheet's ticks.
const formTicks = `
# The crosses scored at the four corners of sheet 1, on what is left of it, laid flat:
# A lower left, B lower right, C upper right, D upper left. Measure from middle to
# middle. spotjig warns and budgets by this; it never bends a file to a machine.
#     scale = measured / nominal - 1
#     out of square = asin((AC^2 - BD^2) / (4 a b))        a, b: means of the sides
`

func list(v []float64) string {
	var out []string
	for _, x := range v {
		out = append(out, figure.Short(x, 3))
	}
	return strings.Join(out, ", ")
}

// plainLine keeps a name from ending its comment.
func plainLine(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r >= 0x80 && r < 0xa0 {
			return '?'
		}
		return r
	}, s)
}
