package job

import _ "embed"

//go:embed demo.yaml
var demoYAML string

// Demo returns the embedded demo job: a hall, a table and a workshop of our own
// invention, read like any other job file.
func Demo() []byte { return []byte(demoYAML) }
