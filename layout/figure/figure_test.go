package figure_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"spotjig/layout/figure"
)

func TestTime(t *testing.T) {
	for _, c := range []struct {
		s    float64
		want string
	}{
		{0, "0 s"}, {0.04, "0 s"}, {0.05, "0.1 s"}, {8.3, "8.3 s"}, {9.94, "9.9 s"}, {9.95, "10 s"},
		{59.49, "59 s"}, {59.5, "1 min 00 s"}, {65, "1 min 05 s"}, {3599.4, "59 min 59 s"},
		{3599.5, "1 h 00 min"}, {4500, "1 h 15 min"}, {4529.9, "1 h 15 min"}, {4530, "1 h 16 min"}, {360000, "100 h 00 min"},
	} {
		assert.Equal(t, c.want, figure.Time(c.s), "%v s", c.s)
	}
}

func TestLengths(t *testing.T) {
	for _, c := range []struct{ want, got string }{
		{"57.2 mm", figure.MM(57.15)}, {"-57.2 mm", figure.MM(-57.15)}, {"0.0 mm", figure.MM(-0.04)},
		{"+1.2 mm", figure.Signed(1.2)}, {"-1.2 mm", figure.Signed(-1.2)}, {"0.0 mm", figure.Signed(-0.01)}, {"0.0 mm", figure.Signed(0.01)},
		{"600 x 400.5 mm", figure.Sheet(600, 400.5)}, {"2540.0 x 1270.0 mm", figure.By(2540, 1270)}, {"2537.0 to 2543.1 mm", figure.Between(2537, 2543.05)},
		{"12.35 m", figure.Metres(12347)}, {"37 m", figure.Metres(37000)},
		{"100 in", figure.Inches(2540)}, {"20 5/8 in", figure.Inches(20.625 * 25.4)}, {"-1/32 in", figure.Inches(-0.8)},
		{"0 in", figure.Inches(-0.3)}, {"524.0 mm (20 5/8 in)", figure.Length(524)},
	} {
		assert.Equal(t, c.want, c.got)
	}
}

func TestNumbers(t *testing.T) {
	for _, c := range []struct{ want, got string }{
		{"4.85", figure.Short(4.85, 3)}, {"120", figure.Short(120, 2)}, {"0", figure.Short(-0.0004, 3)}, {"-0.001", figure.Short(-0.0006, 3)},
		{"0.000", figure.Fixed(-0.0004, 3)}, {"100", figure.Fixed(99.6, 0)}, {"0", figure.Fixed(-0.4, 0)}, {"87 %", figure.Share(0.873)},
		{"1 piece", figure.Count(1, "piece")}, {"0 pieces", figure.Count(0, "piece")}, {"12 pieces", figure.Count(int64(12), "piece")},
	} {
		assert.Equal(t, c.want, c.got)
	}
}

func Example() {
	fmt.Println(figure.Length(2540))
	fmt.Println(figure.Time(75*60) + ", " + figure.Count(1, "sheet") + ", " + figure.Share(0.5) + " used")
	// Output:
	// 2540.0 mm (100 in)
	// 1 h 15 min, 1 sheet, 50 % used
}

func TestInchesFirst(t *testing.T) {
	for _, c := range []struct{ want, text string }{
		{"20 5/8 in (524.0 mm) from the head nose", figure.Length(524) + " from the head nose"},
		{"100 in (2540.0 mm) by 1/2 in (12.7 mm)", figure.Length(2540) + " by " + figure.Length(12.7)},
		{"-1 in (-25.4 mm)", figure.Length(-25.4)},
		{"within 0.012 in (0.3 mm) (19 of 20)", "within 0.3 mm (19 of 20)"},
		{"100 x 50 in (2540.0 x 1270.0 mm)", figure.By(2540, 1270)},
		{"99 29/32 to 100 3/32 in (2537.5 to 2542.5 mm) long", figure.Between(2537.5, 2542.5) + " long"},
		{"+-0.008, +-0 in (0.2, 0.0 mm)", "+-0.2, +-0.0 mm"}, {"+-1/2 in (12.7 mm)", "+-12.7 mm"},
		{"+0.039 in (+1.0 mm), -1 in (-25.4 mm), 0 in (0.0 mm)", "+1.0 mm, -25.4 mm, 0.0 mm"},
		{"1 in\n    (25.4 mm) and 98 x 49 in (2489.2 x\n 1244.6 mm)", "1 in\n    (25.4 mm) and 98 x 49 in (2489.2 x\n 1244.6 mm)"}, // broken into lines
		{"1/4 in (6.4 mm), 0.248 in (6.3 mm)", "6.4 mm, 6.3 mm"},
		{"kerf 0.18 mm, 20.0 mm/s, measured 2.9 mm thick, sold as 3.0 mm", "kerf 0.18 mm, 20.0 mm/s, measured 2.9 mm thick, sold as 3.0 mm"},
		{"kerf: width of cut at the underside 0.2 mm, with a kerf of 0.3 mm, kerf (width of cut) 0.4 mm", "kerf: width of cut at the underside 0.2 mm, with a kerf of 0.3 mm, kerf (width of cut) 0.4 mm"},
		{"sheet 23 5/8 x 15 25/32 in (600 x 400.5 mm)", "sheet " + figure.Sheet(600, 400.5)},
	} {
		assert.Equal(t, c.want, figure.InchesFirst(c.text))
		assert.Equal(t, c.want, figure.InchesFirst(figure.InchesFirst(c.text)), "turned once")
	}
}
