package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"spotjig/cam/jig"
	"spotjig/cam/jig/testpiece"
	"spotjig/cam/machine"
	"spotjig/post"
	"spotjig/post/proof"
)

// buildKnifeCoupon makes the blade's test piece: squares cut with offsets and
// depths either side of the profile's. They are cut wrong on purpose: each is held
// against what a blade of the offset lettered on it would cut.
func buildKnifeCoupon(ctx context.Context, l *loaded, hook steps, p machine.Profile, m machine.Material) (built, error) {
	c := testpiece.NewKnifeCoupon(p, m)
	b := built{trials: c.Trials, set: post.Set{Version: version, Job: l.job, Table: l.job.Table, Machine: p, Material: m,
		Cautions: post.Cautions(p, m), Jig: jig.Jig{Parts: c.Parts}}}
	b.set.Job.Name += ", test piece"
	if err := layOut(&b.set); err != nil {
		return built{}, l.stageFault("J091", "material.sheets", "use a larger sheet or bed", err)
	}
	if err := b.programs(ctx, l, hook); err != nil {
		return built{}, err
	}
	if err := b.drawings(hook); err != nil {
		return built{}, err
	}
	for i, s := range b.set.Sheets {
		if err := b.proveKnifeCoupon(ctx, i, s); err != nil {
			return built{}, err
		}
	}
	text := "Blade test piece: " + m.Kind + fmt.Sprintf(", %g mm", m.Thickness) + "\n\n" + strings.Join(c.Reading, "\n\n") + "\n"
	if err := b.add(output{"reading.txt", func(w io.Writer) error { _, err := io.WriteString(w, text); return err }}); err != nil {
		return built{}, err
	}
	err := b.finish(hook)
	return b, err
}

// judgedOn is the machine that the dry run judges a set's programs on: the set's
// own. A blade's test piece reckons with blades of other offsets than the one that
// the dry run drags, which then seems to turn too far and too tightly; those two
// limits are left out for it, and the proof by the tip takes each square with the
// offset that it reckons with.
func judgedOn(set post.Set) machine.Profile {
	p := set.Machine
	if p.Process != machine.Knife {
		return p
	}
	for _, part := range set.Jig.Parts {
		if part.Role != testpiece.TrialPiece {
			return p
		}
	}
	p.Knife.SwivelDeg, p.Knife.ArcMin = 180, 0
	return p
}

// proveKnifeCoupon reads a sheet's files back.
func (b *built) proveKnifeCoupon(ctx context.Context, i int, s post.Sheet) error {
	name := fmt.Sprintf("sheet-%d", s.N)
	drawing, _ := b.file(name + ".dxf")
	b.set.Checks = append(b.set.Checks, proof.Drawing(drawing, b.set, i))
	var programs [3]proof.Program
	for k, suffix := range []string{"", "-dryrun", "-edges"} {
		text, _ := b.file(name + suffix + ".nc")
		p, err := proof.ReadProgram(ctx, text)
		if err != nil {
			return b.unread(ctx, name+suffix, err)
		}
		programs[k] = p
	}
	b.set.Checks = append(b.set.Checks, proof.AsRead(programs[0], s.Path, b.set.Machine, true),
		proof.AsRead(programs[1], s.Path, b.set.Machine, false), proof.Edges(programs[2], s.Path, b.set.Machine))
	b.set.Checks = append(b.set.Checks, proof.ByTip(programs[0], proof.Blading{Parts: b.set.Jig.Parts, Sheet: s.Sheet,
		Knife: b.set.Machine.Knife, Material: b.set.Material, Trials: b.trials})...)
	return nil
}
