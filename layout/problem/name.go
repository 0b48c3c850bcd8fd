package problem

import "fmt"

// Printable is a file name as a message may have it: quoted where it would do something to a
// terminal.
func Printable(name string) string {
	q := fmt.Sprintf("%+q", name)
	if q == `"`+name+`"` {
		return name
	}
	return q
}
