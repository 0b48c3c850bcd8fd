package layout_test

import (
	"fmt"

	"spotjig/layout"
)

// The marks of snooker on a 12 ft table at its published size, 3569 by 1778 mm: the
// spots of the baulk line at 737 mm, the D of 292 mm and the black 324 mm from the top nose
// are those of the rules (WPBSA Official Rules, section 1: 29 in, 11 1/2 in, 12 3/4 in).
func ExampleNewPlan() {
	plan, err := layout.NewPlan(layout.Request{
		Table:   layout.Table{L: 3568.7, W: 1778},
		Games:   []string{"snooker"},
		Choices: layout.Choices{BaulkLine: "scaled", D: "scaled", Black: "scaled", MinApart: 8},
		Balls:   layout.UsualBalls([]string{"snooker"}),
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, m := range plan.Marks {
		switch m.Kind {
		case layout.Spot:
			fmt.Printf("%s: %.0f mm from the head nose\n", m.Name, m.X)
		case layout.Arc:
			fmt.Printf("%s: radius %.0f mm\n", m.Name, m.Radius)
		}
	}
	// Output:
	// D: radius 292 mm
	// yellow spot: 737 mm from the head nose
	// green spot: 737 mm from the head nose
	// brown spot: 737 mm from the head nose
	// blue spot: 1784 mm from the head nose
	// pink spot: 2677 mm from the head nose
	// black spot: 3245 mm from the head nose
}
