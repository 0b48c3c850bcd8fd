package problem

import (
	"bytes"
	"encoding/json"
	"errors"
)

// Told is a problem as every report for programs has it.
type Told struct {
	File     string `json:"file"`
	Line     int    `json:"line"` // 0: not known
	Col      int    `json:"col"`
	Field    string `json:"field"`
	Code     string `json:"code"`
	Severity string `json:"severity"` // error: nothing was done; note: worth knowing
	Text     string `json:"text"`
	Help     string `json:"help"`
}

const severityError, severityNote = "error", "note"

// Told are the problems of a list, in file order, as errors.
func (l List) Told() []Told { return l.Sorted().report(severityError) }

// ToldAsNotes are the problems of a list, in file order, as worth knowing.
func (l List) ToldAsNotes() []Told { return l.Each().report(severityNote) }

// report is the list as reports have it, all of one severity.
func (l List) report(severity string) []Told {
	out := []Told{}
	for _, p := range l {
		out = append(out, Told{p.File, p.Line, p.Col, p.Field, p.Code, severity, p.Msg, p.Help})
	}
	return out
}

// Tell are the problems in an error; one that is no problem of a file has its text.
func Tell(err error) []Told {
	if list := From(err); len(list) > 0 {
		return list.Told()
	}
	return []Told{{Severity: severityError, Text: err.Error()}}
}

// Text is an error in words, that of problems with their places and remedies.
func Text(err error) string {
	if list := From(err); len(list) > 0 {
		return list.Error()
	}
	return err.Error()
}

// InFile gives problems without a file the file they are in.
func InFile(name string, err error) error {
	list := From(err)
	if len(list) == 0 {
		return err
	}
	for i := range list {
		list[i].File = name
	}
	return list.Err()
}

// WithTold puts problems at the end of a report, a JSON object set in by two blanks.
func WithTold(doc []byte, list []Told) ([]byte, error) {
	body, ok := bytes.CutSuffix(doc, []byte("\n}\n"))
	if !ok {
		return nil, errors.New("internal error: a report that is no object")
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(map[string][]Told{"problems": list}); err != nil {
		return nil, err
	}
	tail, _ := bytes.CutPrefix(b.Bytes(), []byte("{"))
	return append(append(body, ','), tail...), nil
}
