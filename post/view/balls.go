package view

import "bytes"

// pocketed reports whether the table has pockets to draw: any game but the
// carom family plays into them.
func (sc *scene) pocketed() bool { return true }

func (sc *scene) writeBalls(b *bytes.Buffer) { b.WriteString(`<g id="s-balls"></g>`) }
