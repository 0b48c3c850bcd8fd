package job

import "github.com/goccy/go-yaml/ast"

// Section is a part of a file that another package reads: the node with its
// position, or nothing when the file has no such section.
type Section struct {
	File      string   // as the user named it
	Path      string   // the section's field path, e.g. "material"; "" for a whole file
	Line, Col int      // where its value begins, 1-based; 0 when the file has no such section
	Node      ast.Node // nil when the file has no such section

	ledger *Ledger // of the job it belongs to
	root   string  // what the job calls the file: "machine." of a machine file
}

// Within makes a file that a section names a part of that section's job.
func (s Section) Within(named Section) Section {
	s.ledger, s.root = named.ledger, named.root+named.Path+"."
	return s
}

// Ledger is what reading the job settled so far.
func (s Section) Ledger() *Ledger { return s.ledger }

// Given tells whether the file has the section, with something in it, assumed or not.
func (s Section) Given() bool { return s.Node != nil }

// Word returns the section's text when it is one plain word or line instead of
// keys, as in "machine: laser-600x400".
func (s Section) Word() (text string, ok bool) {
	text, ok = scalarText(s.Node)
	return text, ok
}

// part is a section within this one, with nothing in it yet.
func (s Section) part(path string) Section {
	return Section{File: s.File, Path: path, ledger: s.ledger, root: s.root}
}
