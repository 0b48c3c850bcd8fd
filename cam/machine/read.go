package machine

import (
	"fmt"
	"path/filepath"
	"strings"

	"spotjig/layout/job"
	"spotjig/layout/problem"
)

// Options is what reading a section needs from outside.
type Options struct {
	// Open gives the bytes of a file that a section names. The name is joined to the
	// folder of the file it stands in. nil: no file may be named.
	Open func(name string) ([]byte, error)
}

// Read reads a job's machine and material sections together and refuses a sheet
// that the machine must not or cannot cut. Every default is filled in, the machine's
// "laser-600x400" and the material's "cast-acrylic-5" included. Work zero, where
// the profile declares none, is the lower left corner of the travel, and a knife's
// heights count from the sheet's upper face. The notes are things to know that do
// not stop the job. The error is a problem.List.
func Read(machineSec, materialSec job.Section, opt Options) (Profile, Material, problem.List, error) {
	var faults, notes problem.List
	p := readProfile(machineSec, opt, &faults)
	if p.Process == Router && len(faults) == 0 {
		faults.Add(problem.Problem{File: machineSec.File, Line: machineSec.Line, Col: machineSec.Col, Field: "machine.process", Code: "M017",
			Msg:  "no jig is made for a router: process router is for dryrun only",
			Help: "choose a laser, a knife, or process: shop for drawings that a router's own software takes"})
	}
	if err := faults.Err(); err != nil {
		// A machine that is not known leaves the material unjudged, but the words of
		// the material can still be read and their faults told.
		p = laserDefaults("")
		p.Max.X, p.Max.Y = TravelMax, TravelMax
	}
	m := readMaterial(materialSec, p, opt, len(faults) == 0, &faults)
	if err := faults.Err(); err != nil {
		return Profile{}, Material{}, nil, err
	}
	if !m.Measured {
		notes.Add(problem.Problem{File: materialSec.File, Line: materialSec.Line, Col: materialSec.Col, Field: "material.thickness", Code: "M025",
			Msg:  fmt.Sprintf("the sheet's thickness is not measured; %g mm, as sold, is used", m.Thickness),
			Help: "measure the sheet with a caliper at four places: fins and slots fit to a tenth of a millimetre"})
	}
	return p, m, notes, nil
}

// ParseProfile reads a machine file. Work offsets, homes, parameters and power-on
// modes that it does not declare stay unknown, as a dry run must take them. The
// error is a problem.List or a problem.Problem.
func ParseProfile(file string, data []byte) (Profile, error) {
	sec, err := job.Parse(file, data)
	if err != nil {
		return Profile{}, err
	}
	var faults problem.List
	p := profileFields(job.Open(sec, &faults))
	if p.Name == "" {
		p.Name = baseName(file)
	}
	if err := faults.Err(); err != nil {
		return Profile{}, err
	}
	return p, nil
}

// ParseMaterial reads a material file for a machine and checks it against the
// machine. The error is a problem.List or a problem.Problem.
func ParseMaterial(file string, data []byte, p Profile) (Material, error) {
	sec, err := job.Parse(file, data)
	if err != nil {
		return Material{}, err
	}
	var faults problem.List
	m := readMaterial(sec, p, Options{}, true, &faults)
	return m, faults.Err()
}

// readProfile reads the section, whatever its form, and fills in work zero.
func readProfile(sec job.Section, opt Options, faults *problem.List) Profile {
	p := resolve(sec, opt, faults, form[Profile]{
		what: "machine", lookup: Lookup, names: ProfileNames(), def: "laser-600x400",
		fields: func(f *job.Fields) Profile { return profileFields(f) },
	})
	if p.Name == "" {
		p.Name = string(p.Process)
	}
	if _, known := p.Offsets[1]; !known && p.Process != Shop {
		offsets := map[int]Axes{1: {X: p.Min.X, Y: p.Min.Y}}
		for n, o := range p.Offsets {
			offsets[n] = o
		}
		p.Offsets = offsets
	}
	settleOffsets(job.Open(sec, new(problem.List)), p)
	return p
}

// settleOffsets notes the work zeros that no key of the section states.
func settleOffsets(f *job.Fields, p Profile) {
	for i, name := range offsetNames() {
		if o, known := p.Offsets[i+1]; known && !f.Settled("offsets."+name+".x") {
			f.SettleAs("offsets."+name+".x", job.Exact(o.X)+" mm", false)
			f.SettleAs("offsets."+name+".y", job.Exact(o.Y)+" mm", false)
			f.SettleAs("offsets."+name+".z", job.Exact(o.Z)+" mm", false)
		}
	}
}

// readMaterial reads the section, whatever its form; check tells whether the
// machine is known well enough to judge the sheet by.
func readMaterial(sec job.Section, p Profile, opt Options, check bool, faults *problem.List) Material {
	finish := func(f *job.Fields, m Material) Material {
		if check {
			checkOn(f, p, m)
		}
		return m
	}
	bare := func(m Material) Material { // a catalogue entry, settings filled in
		m.Sheets = readStocks(job.Open(job.Section{}, faults), m.Sheets, p)
		if p.Process == Knife {
			m.Kerf, m.KerfPM = 0, 0
		}
		m.Cut, m.Score, m.Letter = firstSetting(m, p, cutting), firstSetting(m, p, scoring), firstSetting(m, p, lettering)
		return finish(job.Open(job.Section{File: sec.File, Path: sec.Path, Line: sec.Line, Col: sec.Col}, faults), m)
	}
	return resolve(sec, opt, faults, form[Material]{
		what: "material", names: MaterialNames(), def: usualSheet(p),
		lookup: func(name string) (Material, bool) {
			m, ok := LookupMaterial(name)
			if ok {
				m = bare(m)
			}
			return m, ok
		},
		fields: func(f *job.Fields) Material { return finish(f, materialFields(f, p)) },
	})
}

// form is what resolve needs to know of a section that may be keys, a built-in
// name or a file's name.
type form[T any] struct {
	what   string
	def    string // the built-in name that stands for a section that is not there
	names  []string
	lookup func(name string) (T, bool)
	fields func(*job.Fields) T
}

// resolve reads a section in any of its forms.
func resolve[T any](sec job.Section, opt Options, faults *problem.List, of form[T]) T {
	if !sec.Given() {
		v, _ := of.lookup(of.def)
		of.settle(sec, of.def)
		return v
	}
	var none T
	name, isWord := sec.Word()
	if !isWord {
		return of.fields(job.Open(sec, faults))
	}
	at := problem.Problem{File: sec.File, Line: sec.Line, Col: sec.Col, Field: sec.Path}
	if ext := strings.ToLower(filepath.Ext(name)); ext == ".yaml" || ext == ".yml" {
		inner, ok := openFile(sec, name, opt, at, faults)
		if !ok {
			return none
		}
		return of.fields(job.Open(inner, faults))
	}
	v, ok := of.lookup(name)
	if !ok {
		at.Code, at.Msg = "M001", unknownName(of.what, shorten(name), of.names)
		at.Help = fmt.Sprintf("give a built-in name (\"spotjig list %ss\"), a file ending in .yaml, or keys", of.what)
		faults.Add(at)
		return none
	}
	of.settle(sec, name)
	return v
}

// settle notes every value of a built-in that a section names, by reading it as keys.
func (of form[T]) settle(sec job.Section, name string) {
	inner, err := job.Parse("", []byte("{like: "+job.Quote(name)+"}"))
	if err != nil {
		panic("machine: internal error: " + err.Error())
	}
	inner = inner.Within(sec)
	of.fields(job.Open(inner, new(problem.List)))
	job.Open(inner, new(problem.List)).SettleAs("name", job.Quote(name), sec.Given())
}

// shorten keeps a word that a message quotes to a line.
func shorten(s string) string {
	if r := []rune(s); len(r) > NameMax {
		return string(r[:NameMax]) + "..."
	}
	return s
}

// openFile loads and parses the file that a section names.
func openFile(sec job.Section, name string, opt Options, at problem.Problem, faults *problem.List) (job.Section, bool) {
	full := name
	if !filepath.IsAbs(name) {
		full = filepath.Join(filepath.Dir(sec.File), name)
	}
	at.Code = "F023"
	if opt.Open == nil {
		at.Msg, at.Help = fmt.Sprintf("%s: no file can be named here", shorten(name)), "write the keys out, or give a built-in name"
		faults.Add(at)
		return job.Section{}, false
	}
	data, err := opt.Open(full)
	if err != nil {
		at.Msg, at.Help = fmt.Sprintf("cannot read %s: %s", shorten(full), reason(err)), "names count from the folder of the file they stand in; check that the file is there and readable"
		faults.Add(at)
		return job.Section{}, false
	}
	inner, err := job.Parse(full, data)
	if err != nil {
		*faults = append(*faults, problem.From(err)...)
		return job.Section{}, false
	}
	return inner.Within(sec), true
}

// reason is the last part of an error, without the operation and path before it.
func reason(err error) string {
	text := err.Error()
	if list := problem.From(err); len(list) > 0 {
		text = list[0].Msg
	}
	if i := strings.LastIndex(text, ": "); i >= 0 {
		text = text[i+2:]
	}
	return text
}

// baseName is a file's name without folder and ending.
func baseName(file string) string {
	b := filepath.Base(file)
	return strings.TrimSuffix(b, filepath.Ext(b))
}
