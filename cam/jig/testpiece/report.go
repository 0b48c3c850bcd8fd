package testpiece

import (
	"fmt"
	"io"
	"math"
	"strings"

	"spotjig/layout/figure"
)

// Write prints what the test piece tells and what to write in the job file.
func (c Findings) Write(w io.Writer) error {
	var b strings.Builder
	line := func(form string, a ...any) { fmt.Fprintf(&b, form+"\n", a...) }
	line("Width of cut (plus or minus: about 95 %%)")
	line("  exit face    %s mm   program allowed for %s", pm(c.Kerf, 3), figure.Short(c.Cut.Kerf, 3))
	for i, axis := range [2]string{"x", "y"} {
		if c.KerfXY[i].PM > 0 {
			line("    comb %s     %s mm", axis, pm(c.KerfXY[i], 3))
		}
	}
	if c.Beam.PM > 0 {
		line("  beam face    %s mm", pm(c.Beam, 3))
		line("  taper        %s degrees each wall", pm(c.TaperDeg, 2))
	} else {
		line("  beam face    not read")
	}
	c.writeThickness(line)
	c.writeFits(line)
	c.writeScale(line)
	c.writeJob(line)
	_, err := io.WriteString(w, b.String())
	return err
}

func (c Findings) writeThickness(line func(string, ...any)) {
	if c.ThicknessRead {
		line("  thickness    %s mm   job has %s", pm(c.Thickness, 2), figure.Short(c.Cut.Thickness, 3))
	}
	for i, axis := range [2]string{"x", "y"} {
		if c.SquareRead[i].PM > 0 {
			line("  square %s     %s mm   by the kerf found %.2f", axis, pm(c.SquareRead[i], 2), c.SquareWanted[i])
		}
	}
}

// writeFits tells slots and sockets as they came out.
func (c Findings) writeFits(line func(string, ...any)) {
	if len(c.Slots) == 0 && !c.FlankRead && !c.ClosureRead && !c.SlipRead {
		return
	}
	line("Fits, as they came out")
	for _, s := range c.Slots {
		line("  %-5s        slot %s: %.2f mm wide, %+.2f on the sheet; nearest word: %s (%+.2f)", s.Name, s.Letter, s.Width, s.Clearance, s.Nearest.Name, s.Nearest.Clearance)
	}
	if c.FlankRead {
		verdict := "the jig's joints go together"
		switch {
		case c.Cut.Flank < c.Flank-0.02:
			verdict = "the jig's joints will be tight: ease their flanks with a file"
		case c.Cut.Flank > c.Flank+0.05:
			verdict = "the jig's joints will be slack: their shoulders still locate"
		}
		line("  dovetail     drawn %.2f, came out %.2f mm a flank; the jig has %.2f: %s", c.FlankDrawn, c.Flank, c.Cut.Flank, verdict)
	}
	if c.ClosureRead {
		line("  joint, shut  shoulders less than %.2f mm open", c.Closure)
	}
	if c.SlipRead {
		line("  its tail     less than %.2f mm beside a flank, with the kerf as found", c.Slip)
	}
}

func (c Findings) writeScale(line func(string, ...any)) {
	if !c.ScaleRead {
		line("Machine: ticks not read; %g ppm stay allowed for", scaleUnread)
		return
	}
	line("Machine")
	line("  scale x      %s ppm%s", pm(c.ScaleX, 0), unresolved(c.ScaleX))
	line("  scale y      %s ppm%s", pm(c.ScaleY, 0), unresolved(c.ScaleY))
	if c.SkewOK {
		line("  skew         %s um/m%s", pm(c.Skew, 0), unresolved(c.Skew))
	} else {
		line("  skew         not read: the diagonals are missing")
	}
}

// writeJob says what goes into the job file.
func (c Findings) writeJob(line func(string, ...any)) {
	line("")
	line("Write in the job file:")
	line("material:")
	line("  kerf: %.3f mm", c.Kerf.Value)
	line("  kerf_pm: %.3f mm", math.Ceil(c.Kerf.PM*1000-1e-9)/1000)
	if c.ThicknessRead {
		line("  thickness: %.2f mm", c.Thickness.Value)
	}
	var jig []string
	for _, s := range c.Slots {
		if s.Name == "slide" {
			jig = append(jig, fmt.Sprintf("fit: %s                     # in this sheet a slide wants %+.2f mm", s.Nearest.Name, s.Clearance))
		}
	}
	if c.ClosureRead {
		jig = append(jig, fmt.Sprintf("joint_closure: %.2f mm", hundredthUp(c.Closure)))
	}
	if c.SlipRead {
		jig = append(jig, fmt.Sprintf("joint_slip: %.2f mm            # of a %s joint", hundredthUp(c.Slip), c.Cut.joint()))
	}
	for i, l := range jig {
		if i == 0 {
			line("jig:")
		}
		line("  %s", l)
	}
	x, y, skew := budgeted(c.ScaleX), budgeted(c.ScaleY), 0.0
	if c.SkewOK {
		skew = budgeted(c.Skew)
	}
	if x == 0 && y == 0 && skew == 0 {
		return
	}
	line("machine:                        # measured, and its uncertainty on top")
	if x != 0 || y != 0 {
		line("  scale_ppm: {x: %.0f, y: %.0f}", x, y)
	}
	if skew != 0 {
		line("  skew: %.0f um/m", skew)
	}
}

// hundredthUp rounds a bound up to hundredths.
func hundredthUp(v float64) float64 { return math.Ceil(v*100-1e-6) / 100 }

// budgeted is what the error budget should hold of a measured value: with its
// uncertainty on top, because a budget is for the worst case; 0 when the reading
// does not tell it from 0, which leaves the budget's own allowance standing.
func budgeted(e Estimate) float64 {
	if e.PM == 0 || math.Abs(e.Value) <= e.PM {
		return 0
	}
	return math.Copysign(math.Ceil(math.Abs(e.Value)+e.PM), e.Value)
}

// unresolved says so when a value cannot be told from 0.
func unresolved(e Estimate) string {
	if math.Abs(e.Value) <= e.PM {
		return "   not told from 0: leave it out, or measure with a finer rule"
	}
	return ""
}

// pm prints an estimate with its uncertainty, which is never printed as 0.
func pm(e Estimate, decimals int) string {
	grain := math.Pow(10, -float64(decimals))
	return fmt.Sprintf("%.*f +- %.*f", decimals, math.Round(e.Value/grain)*grain+0, decimals, math.Max(grain, math.Ceil(e.PM/grain-1e-9)*grain))
}
