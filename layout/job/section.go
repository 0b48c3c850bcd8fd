package job

import "github.com/goccy/go-yaml/ast"

// Section is a part of a file that another package reads: the node with its
// position, or nothing when the file has no such section.
type Section struct {
	File string
	Node ast.Node
}
