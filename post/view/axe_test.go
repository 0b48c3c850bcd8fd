package view_test

import (
	"fmt"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/post/view/browsertest"
)

// TestAccessible holds the page against the rules of axe-core (Deque, MPL-2.0), which check
// WCAG 2 as far as a program can: in both colour schemes, wide and on a phone, folded
// away and open, with inches first, one step at a time, and in print.
func TestAccessible(t *testing.T) {
	name := os.Getenv("SPOTJIG_AXE")
	if name == "" {
		t.Skip("skipped: SPOTJIG_AXE does not name axe-core's axe.min.js (npm pack axe-core)")
	}
	axe, err := os.ReadFile(name)
	require.NoError(t, err)
	b := browsertest.New(t)
	pg := page(t, demoSet())
	look := func(what string) {
		b.Eval(string(axe) + ";true")
		got := b.Eval(`axe.run(document,{resultTypes:["violations"]}).then(r=>r.violations.map(v=>v.id+": "+v.help+": "+v.nodes.slice(0,3).map(n=>n.target.join(" ")+" "+(n.any[0]?n.any[0].message:"")).join(" | ")))`)
		assert.Empty(t, got, what)
		assert.Greater(t, b.Eval(`axe.run(document).then(r=>r.passes.length)`), 20.0, "%s: the rules were run", what)
	}
	for _, scheme := range []string{"light", "dark"} {
		for _, w := range []int{390, 1400} {
			b.Media(scheme, "reduce")
			b.Size(w, 900)
			b.Open(pg)
			b.Until(`document.querySelectorAll("#stage .op").length > 0`)
			look(fmt.Sprintf("%s %d, folded", scheme, w))
			b.Eval(`document.querySelectorAll("details").forEach(d => d.open = true)`)
			look(fmt.Sprintf("%s %d, open", scheme, w))
			b.Click(`input[name="units"][value="in"]`)
			b.Until(`document.body.dataset.units === "in"`)
			look(fmt.Sprintf("%s %d, inches", scheme, w))
			b.Eval(`localStorage.clear()`)
		}
	}
	b.Click("#walk")
	b.Until(`document.body.classList.contains("walking")`)
	look("one step at a time")
	b.Eval(`localStorage.clear()`)
	b.Open(pg)
	b.Call("Emulation.setEmulatedMedia", map[string]any{"media": "print"})
	b.Eval(`window.dispatchEvent(new Event("beforeprint"))`)
	look("in print")
	b.Eval(`localStorage.clear()`)
}
