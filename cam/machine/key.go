package machine

import (
	"cmp"
	"slices"
	"strings"

	"spotjig/layout/job"
	"spotjig/layout/problem"
)

// Sections of every key there is, of a machine and of a material: a profile has other
// defaults for a blade than for a beam, so that it is read twice.
const (
	everyBeam  = "{travel: {x: 600, y: 400}, " + everyPlace + "}"
	everyBlade = "{process: knife, travel: {x: 600, y: 400}, " + everyPlace + ", knife: {}}"
	everyPlace = "limits: {}, park: {}, keep_out: [{min: {}, max: {}}], homes: {G28: {}, G30: {}}, offsets: " +
		"{G54: {}, G55: {}, G56: {}, G57: {}, G58: {}, G59: {}, G59.1: {}, G59.2: {}, G59.3: {}}"
	everySheet = "{sheets: [{}]}"
)

// Keys lists every key of a machine file, as "machine.travel.x", and of a material file,
// as "material.kerf", in the order they are read, by reading them. A default that is
// another with a blade than with a beam is told for both.
func Keys() []job.Key {
	beam, laser := noted("machine", everyBeam, profileFields)
	blade, knife := noted("machine", everyBlade, profileFields)
	onBeam, _ := noted("material", everySheet, func(f *job.Fields) Material { return materialFields(f, laser) })
	onBlade, _ := noted("material", everySheet, func(f *job.Fields) Material { return materialFields(f, knife) })
	return append(bothKeys(onBeam, onBlade), bothKeys(beam, blade)...)
}

// noted reads a text as a section and returns the keys that were asked for, and what
// was read.
func noted[T any](path, text string, read func(*job.Fields) T) ([]job.Key, T) {
	sec, err := job.Parse("", []byte(text))
	if err != nil {
		panic("machine: internal error: " + err.Error())
	}
	sec.Path = path
	var keys []job.Key
	v := read(job.Open(sec, new(problem.List)).Noted(&keys))
	return keys, v
}

// bothKeys joins the keys asked for with a beam and with a blade.
func bothKeys(beam, blade []job.Key) []job.Key {
	out := slices.Clone(beam)
	for _, k := range blade {
		i := slices.IndexFunc(out, func(o job.Key) bool { return o.Path == k.Path })
		switch {
		case i < 0:
			out = append(out, k)
		case out[i].Default != k.Default && k.Path != "machine.process":
			out[i].Default = strings.TrimPrefix(out[i].Default+"; on a knife "+cmp.Or(k.Default, "none"), "; ")
		}
	}
	return out
}
