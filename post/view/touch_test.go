package view_test

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout"
	"spotjig/post/view/browsertest"
)

// TestByTouch uses the page as a fitter does who stands at the table with a phone: by finger
// alone, without a network. Steps are tapped through, a page that is opened again is where it
// was; the picture is pinched larger and dragged; two marks that are touched have a distance.
func TestByTouch(t *testing.T) {
	if os.Getenv("SPOTJIG_ALL") == "" {
		t.Skip("the page once more, by finger: SPOTJIG_ALL=1 runs it")
	}
	t.Parallel()
	b := browsertest.New(t)
	b.Phone(390, 844)
	b.Media("light", "reduce")
	pg := page(t, demoSet())
	b.Open(pg)
	b.Eval(`localStorage.clear()`)
	b.Open(pg)
	assert.Equal(t, []any{390.0, true, false}, b.Eval(`[innerWidth, navigator.maxTouchPoints > 0, navigator.onLine]`), "a phone without a network")
	t.Run("two marks", func(t *testing.T) { b.For(t); touchesMarks(t, b) })
	t.Run("pinch and drag", func(t *testing.T) { b.For(t); pinches(t, b) })
	t.Run("steps", func(t *testing.T) { b.For(t); tapsSteps(t, b, pg) })
	t.Run("still quiet", func(t *testing.T) { b.For(t); assert.Empty(t, b.Complaints()) })
	b.Eval(`localStorage.clear()`)
}

// onTable is where a point of the table is on the window, with the picture scrolled to.
func onTable(b *browsertest.Browser, x, y float64) [2]float64 {
	b.Eval(`(window.shownPlan = function () { return [].filter.call(document.querySelectorAll("#plan svg.pic"), e => getComputedStyle(e).display !== "none")[0]; }, shownPlan().scrollIntoView({block: "center", behavior: "instant"}))`)
	at := b.Eval(fmt.Sprintf(`(function(){var m=shownPlan().querySelector("g[transform]").getScreenCTM();return [m.a*%[1]g+m.c*%[2]g+m.e,m.b*%[1]g+m.d*%[2]g+m.f]})()`, x, y)).([]any)
	return [2]float64{at[0].(float64), at[1].(float64)}
}

// touchesMarks: the baulk line's right end and the yellow spot of the demo are half the width
// less a sixth of it apart, 635 - 211.667 = 423.333 mm. A finger comes down beside a mark.
func touchesMarks(t *testing.T, b *browsertest.Browser) {
	baulk := 2540 * 29 / 140.5
	for i, y := range []float64{-635, -1270.0 / 6} {
		at := onTable(b, baulk, y)
		at = [2]float64{at[0] + 4, at[1] - 4}
		b.Touch([2][2]float64{at, at})
		b.Until(fmt.Sprintf(`document.getElementById("dist-%c").value !== ""`, "ab"[i]))
	}
	b.Until(`document.getElementById("dist").textContent === "423.3 mm (16 21/32 in)"`)
	assert.Equal(t, true, b.Eval(`shownPlan().querySelector(".span") !== null`), "a line from mark to mark")
}

// pinches: two fingers that part show less of the table, about the point between them; one
// finger then moves it, and taps nothing; at rest the page scrolls under a finger as any page.
func pinches(t *testing.T, b *browsertest.Browser) {
	frame := `shownPlan().getAttribute("viewBox").split(" ").map(Number)`
	middle := onTable(b, 1270, 0)
	whole := b.Eval(frame).([]any)
	chosen := b.Eval(`document.getElementById("dist-a").value+"|"+document.getElementById("dist-b").value`)
	x, y := middle[0], middle[1]
	b.Touch([2][2]float64{{x - 30, y - 30}, {x - 90, y - 90}}, [2][2]float64{{x + 30, y + 30}, {x + 90, y + 90}})
	b.Until(fmt.Sprintf(`%s[2] < %g`, frame, whole[2].(float64)/2))
	at := onTable(b, 1270, 0)
	assert.InDelta(t, x, at[0], 12, "what was between the fingers is still there")
	assert.InDelta(t, y, at[1], 12, "what was between the fingers is still there")
	b.Touch([2][2]float64{{x, y}, {x + 60, y + 40}})
	b.Until(fmt.Sprintf(`(function(){var m=shownPlan().querySelector("g[transform]").getScreenCTM();return Math.abs(m.a*1270+m.e-%g) > 30 || Math.abs(m.b*1270+m.f-%g) > 30})()`, at[0], at[1]))
	moved := onTable(b, 1270, 0)
	assert.InDelta(t, at[0]+60, moved[0], 12, "it goes with the finger")
	assert.InDelta(t, at[1]+40, moved[1], 12, "it goes with the finger")
	assert.Equal(t, chosen, b.Eval(`document.getElementById("dist-a").value+"|"+document.getElementById("dist-b").value`), "neither chose a mark")
	b.Touch([2][2]float64{{x - 120, y - 120}, {x - 20, y - 20}}, [2][2]float64{{x + 120, y + 120}, {x + 20, y + 20}})
	b.Until(fmt.Sprintf(`%s[2] > %g`, frame, whole[2].(float64)*0.99))
	b.Eval(`window.scrollTo(0, 300)`)
	was := b.Eval(`scrollY`).(float64)
	b.Touch([2][2]float64{{x, 600}, {x, 300}})
	b.Until(fmt.Sprintf(`scrollY > %g`, was+100))
	b.Until(`(function(){window.still = window.wasAt === scrollY ? (window.still || 0) + 1 : 0; window.wasAt = scrollY; return still > 5})()`) // a finger would only stop it
}

// tapsSteps: one step at a time; opened again, the page is at the step where it was left, with
// what was read; every button is as large as a finger wants it (WCAG 2.2, 2.5.8: 24 pixels).
func tapsSteps(t *testing.T, b *browsertest.Browser, pg []byte) {
	shown := `[].filter.call(document.querySelectorAll(".step"), e => getComputedStyle(e).display !== "none").map(e => e.querySelector("h3").textContent).join("|")`
	b.Tap("#walk")
	b.Until(shown + ` === "Lay the head template"`)
	b.Tap("#walk-next")
	b.Until(shown + ` === "Centre the head template"`)
	b.Tap("#walk-back")
	b.Until(shown + ` === "Lay the head template"`)
	n := int(b.Eval(`document.querySelectorAll(".step").length`).(float64))
	for i := 1; i < n; i++ {
		b.Tap("#walk-next")
		b.Until(fmt.Sprintf(`document.getElementById("walk-at").textContent === "%d of %d"`, i+1, n))
	}
	b.Until(shown + ` === "yellow"`)
	assert.Empty(t, b.Eval(`[].filter.call(document.querySelectorAll(".walkbar button,.step.now input"), e => e.getBoundingClientRect().height < 24 || e.getBoundingClientRect().right > innerWidth).map(e => e.id)`))
	b.Picture("walking", "body")
	b.Tap(".step.now input")
	b.Until(`document.activeElement.matches(".step.now input")`)
	b.Call("Input.insertText", map[string]any{"text": "524.5"})
	b.Until(`document.getElementById("readings-text").value === "yellow: head 524.5 mm\n"`)
	b.Open(pg)
	b.Until(shown + ` === "yellow"`)
	text := b.Eval(`document.getElementById("readings-text").value`).(string)
	assert.Equal(t, "yellow: head 524.5 mm\n", text)
	_, err := layout.ReadReadings(strings.NewReader(text), "readings.txt")
	require.NoError(t, err)
	assert.Equal(t, false, b.Eval(`navigator.onLine`))
	b.Tap("#walk-end")
	b.Until(`getComputedStyle(document.getElementById("sheets")).display !== "none"`)
}
