package main

import (
	"errors"
	"fmt"
	"io"
	"os"

	"spotjig/cam/machine"
	"spotjig/layout"
	"spotjig/layout/job"
	"spotjig/layout/problem"
)

// demoName is what the embedded job is called in messages.
const demoName = "demo job"

// loaded is a job read and worked out as far as the marks.
type loaded struct {
	job    job.Job
	survey *layout.Report // nil without a survey
	plan   layout.Plan
	notes  problem.List // things to know that do not stop the job
	inputs []string     // every file read
	source []byte
	shape  outputOptions
	stage  func(string) // told what is being done; nil for silence
}

// at tells whoever watches what is being done now.
func (l loaded) at(stage string) {
	if l.stage != nil {
		l.stage(stage)
	}
}

// readInput reads a user's file. It stops one byte past the largest file that a
// reader takes, which that reader then refuses.
func readInput(name string) ([]byte, error) {
	data, err := readBounded(name)
	if err == nil {
		return data, nil
	}
	var path *os.PathError
	if errors.As(err, &path) {
		err = path.Err
	}
	return nil, problem.Problem{File: name, Code: "F001", Msg: "cannot be read: " + err.Error(), Help: "check the name and the permissions"}
}

func readBounded(name string) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, job.FileMax+1))
}

// loadJob reads the job at path, the embedded demo when path is empty, fits its
// survey and works out its marks.
func loadJob(path string) (loaded, error) {
	l := loaded{source: job.Demo()}
	name := demoName
	if path != "" {
		data, err := readInput(path)
		if err != nil {
			return l, err
		}
		l.source, name = data, path
		l.inputs = append(l.inputs, path)
	}
	j, notes, err := job.Read(name, l.source, job.Options{})
	if err != nil {
		return l, err
	}
	l.job, l.notes = j, notes
	if j.Survey != nil {
		table, report, err := layout.Fit(*j.Survey)
		if err != nil {
			return l, l.located(name, err)
		}
		table.Name = j.Table.Name
		l.job.Table, l.survey = table, &report
	}
	l.plan, err = layout.NewPlan(l.request())
	if err != nil {
		return l, l.located(name, err)
	}
	return l, nil
}

// located gives faults of values their place in the job file.
func (l loaded) located(name string, err error) error {
	return job.Locate(name, l.source, problem.From(err)).Err()
}

// loadMachine reads the job's machine and material, which may be files it names.
func (l *loaded) loadMachine() (machine.Profile, machine.Material, error) {
	open := func(name string) ([]byte, error) {
		data, err := readInput(name)
		if err == nil {
			l.inputs = append(l.inputs, name)
		}
		return data, err
	}
	p, m, notes, err := machine.Read(l.job.Machine, l.job.Material, machine.Options{Open: open})
	if err != nil {
		return p, m, err
	}
	l.notes = append(l.notes, notes...)
	return p, m, nil
}

// where names the job for a message.
func (l loaded) where() string {
	if l.job.File == "" {
		return demoName
	}
	return l.job.File
}

// stageFault turns an error of a later stage into a Problem of the job.
func (l loaded) stageFault(code, field, help string, err error) error {
	return problem.Problem{File: l.where(), Field: field, Code: code, Msg: fmt.Sprint(err), Help: help}
}
