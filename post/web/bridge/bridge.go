// Package bridge is what a page calls: plain functions from the text of a job file to
// what is shown of it, as values that turn into JSON. Every rule and every figure comes
// from the packages that the command line uses; the page's script shows what it is given.
package bridge

import (
	_ "embed" // the job that a page begins with
	"strings"

	"spotjig/layout/job"
	"spotjig/layout/problem"
	"spotjig/post/work"
)

// JobName is what a page calls the job that is open.
const JobName = "job.yaml"

//go:embed start.yaml
var startYAML string

// Start is the text of a job to begin with, nothing of its table measured yet.
func Start() string { return startYAML }

// Demo is the text of the embedded demo job.
func Demo() string { return string(job.Demo()) }

// Fault is a problem of a file, or a note on it.
type Fault struct {
	Line  int    `json:"line"` // 0: of the file as a whole
	Col   int    `json:"col"`
	Field string `json:"field"`
	Code  string `json:"code"`
	Text  string `json:"text"`
	Help  string `json:"help"`
}

// faultsOf lists the problems in an error; any other error is one fault with its text.
func faultsOf(err error) []Fault {
	if err == nil {
		return []Fault{}
	}
	list := problem.From(err)
	if len(list) == 0 {
		return []Fault{{Text: err.Error()}}
	}
	return faults(list.Sorted())
}

func faults(list problem.List) []Fault {
	out := []Fault{}
	for _, p := range list {
		out = append(out, Fault{p.Line, p.Col, p.Field, p.Code, p.Msg, p.Help})
	}
	return out
}

// noFile refuses a file that a job names: the page has only the job itself.
func noFile(name string) ([]byte, error) {
	return nil, problem.Problem{File: name, Code: "F023", Msg: "the page has no other files to read",
		Help: "write its keys into the job, or name a machine or material that is built in"}
}

// read reads a job's text.
func read(text string) (*work.Order, error) {
	return work.Read(JobName, []byte(text), noFile)
}

// belongs tells whether a fault's field is the form's field at path, or a part of it.
func belongs(field, path string) bool {
	rest, ok := strings.CutPrefix(field, path)
	return ok && (rest == "" || rest[0] == '.' || rest[0] == '[')
}
