package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"spotjig/cam/jig"
	"spotjig/cam/machine"
	"spotjig/post"
	"spotjig/post/proof"
)

// buildKnifeCoupon makes the blade's test piece: squares cut with offsets and
// depths either side of the profile's. They are cut wrong on purpose, so the
// programs are held against the toolpath and the machine, not against the squares.
func buildKnifeCoupon(ctx context.Context, l *loaded, p machine.Profile, m machine.Material) (built, error) {
	c := jig.NewKnifeCoupon(p, m)
	b := built{trials: c.Trials, set: post.Set{Version: version, Job: l.job, Table: l.job.Table, Machine: p, Material: m,
		Cautions: post.Cautions(p, m), Jig: jig.Jig{Parts: c.Parts}}}
	b.set.Job.Name += ", test piece"
	if err := layOut(&b.set); err != nil {
		return built{}, l.stageFault("J091", "material.sheets", "use a larger sheet or bed", err)
	}
	if err := b.programs(ctx, l, steps{}); err != nil {
		return built{}, err
	}
	if err := b.drawings(); err != nil {
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
	err := b.finish()
	return b, err
}

// proveKnifeCoupon reads a sheet's files back.
func (b *built) proveKnifeCoupon(ctx context.Context, i int, s post.Sheet) error {
	name := fmt.Sprintf("sheet-%d", s.N)
	drawing, _ := b.file(name + ".dxf")
	b.set.Checks = append(b.set.Checks, proof.Drawing(drawing, b.set, i))
	for k, suffix := range []string{"", "-dryrun"} {
		text, _ := b.file(name + suffix + ".nc")
		program, err := proof.ReadProgram(ctx, text)
		if err != nil {
			return err
		}
		b.set.Checks = append(b.set.Checks, proof.AsRead(program, s.Path, b.set.Machine, k == 0))
	}
	return nil
}
