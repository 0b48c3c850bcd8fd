package view_test

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/layout"
	"spotjig/layout/figure"
	"spotjig/post"
	"spotjig/post/view"
	"spotjig/post/view/browsertest"
)

func page(t testing.TB, set post.Set) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, view.Write(&b, set, view.Options{}))
	return b.Bytes()
}

// TestBrowser opens the page in a real browser and uses it: by pointer and by
// key, at three widths, in both colour schemes. What takes long waits for SPOTJIG_ALL=1: the
// steps at the table, units, widths and hostile names.
func TestBrowser(t *testing.T) {
	t.Parallel()
	b := browsertest.New(t)
	t.Run("loads quietly", func(t *testing.T) {
		b.For(t)
		b.Size(1600, 1000)
		b.Media("light", "no-preference")
		b.Open(page(t, demoSet()))
		b.Until(fmt.Sprintf(`document.querySelectorAll("#stage .op").length === %d`, len(demoSet().Sheets[0].Path.Ops)))
		assert.Empty(t, b.Complaints())
	})
	t.Run("animation runs and pauses", func(t *testing.T) { b.For(t); animates(t, b) })
	t.Run("scrubber", func(t *testing.T) { b.For(t); scrubs(t, b) })
	t.Run("keys", func(t *testing.T) { b.For(t); keys(t, b) })
	t.Run("jump and sheet", func(t *testing.T) { b.For(t); jumps(t, b) })
	t.Run("reduced motion", func(t *testing.T) { b.For(t); calm(t, b) })
	t.Run("check shows where", func(t *testing.T) { b.For(t); lights(t, b) })
	t.Run("switches", func(t *testing.T) { b.For(t); switches(t, b) })
	all := os.Getenv("SPOTJIG_ALL") != ""
	if all {
		t.Run("steps at the table", func(t *testing.T) { b.For(t); walks(t, b) })
		t.Run("units", func(t *testing.T) { b.For(t); inches(t, b) })
	}
	t.Run("distance", func(t *testing.T) { b.For(t); measures(t, b) })
	t.Run("zoom", func(t *testing.T) { b.For(t); zooms(t, b) })
	if all {
		t.Run("nothing overflows", func(t *testing.T) { b.For(t); overflows(t, b) })
		t.Run("hostile names", func(t *testing.T) { b.For(t); hostileNames(t, b) })
	}
	t.Run("still quiet", func(t *testing.T) { b.For(t); assert.Empty(t, b.Complaints()) })
}

// animates: playing moves the head and the clock; pausing holds them.
func animates(t *testing.T, b *browsertest.Browser) {
	b.Eval(`document.getElementById("speed").value = "100"`)
	was := b.Eval(`document.getElementById("time").textContent`)
	b.Click("#play")
	b.Until(fmt.Sprintf(`document.getElementById("time").textContent !== %q`, was))
	b.Until(`document.querySelectorAll("#stage .op.done").length > 3`)
	assert.Equal(t, "Pause", b.Eval(`document.getElementById("play").textContent`))
	b.Click("#play")
	at := b.Eval(`document.querySelector(".head").getAttribute("cx")`)
	b.Eval(`new Promise(r => setTimeout(r, 150))`)
	assert.Equal(t, at, b.Eval(`document.querySelector(".head").getAttribute("cx")`))
}

// scrubs: the slider's end is the whole job as the record has it.
func scrubs(t *testing.T, b *browsertest.Browser) {
	move := func(frac string) {
		b.Eval(`(function(){var s=document.getElementById("scrub");s.value=s.max*` + frac + `;s.dispatchEvent(new Event("input",{bubbles:true}))})()`)
	}
	move("1")
	s := demoSet().Sheets[0]
	assert.Equal(t, "done", b.Eval(`document.getElementById("now").textContent`))
	assert.Equal(t, float64(len(s.Path.Ops)), b.Eval(`document.querySelectorAll("#stage .op.done").length`))
	want := fmt.Sprintf("%.2f m of %.2f m", s.CutLen/1000, s.CutLen/1000)
	assert.Equal(t, want, b.Eval(`document.getElementById("cut").textContent`))
	want = fmt.Sprintf("%.2f m of %.2f m", s.TravelLen/1000, s.TravelLen/1000)
	assert.Equal(t, want, b.Eval(`document.getElementById("rapid").textContent`))
	assert.InDelta(t, s.Time*10, b.Eval(`Number(document.getElementById("scrub").max)`), 5)
	move("0.5")
	done := b.Eval(`document.querySelectorAll("#stage .op.done").length`).(float64)
	assert.Greater(t, done, 0.0)
	assert.Less(t, done, float64(len(s.Path.Ops)))
	move("0")
	assert.Equal(t, 0.0, b.Eval(`document.querySelectorAll("#stage .op.done").length`))
}

// keys: the player answers space, arrows, Home and End; Tab reaches it.
func keys(t *testing.T, b *browsertest.Browser) {
	b.Eval(`document.getElementById("player").focus()`)
	b.Key("End")
	assert.Equal(t, "done", b.Eval(`document.getElementById("now").textContent`))
	b.Key("Home")
	assert.Contains(t, b.Eval(`document.getElementById("now").textContent`), "(1 of ")
	b.Key("ArrowRight")
	assert.Contains(t, b.Eval(`document.getElementById("now").textContent`), "(2 of ")
	b.Key("ArrowLeft")
	assert.Contains(t, b.Eval(`document.getElementById("now").textContent`), "(1 of ")
	b.Key(" ")
	assert.Equal(t, "true", b.Eval(`document.getElementById("play").getAttribute("aria-pressed")`))
	b.Key(" ")
	assert.Equal(t, "false", b.Eval(`document.getElementById("play").getAttribute("aria-pressed")`))
}

func jumps(t *testing.T, b *browsertest.Browser) {
	b.Eval(`(function(){var d=document.getElementById("deck");d.value="1";d.dispatchEvent(new Event("change",{bubbles:true}))})()`)
	b.Eval(`(function(){var j=document.getElementById("jump");for(var i=0;i<j.options.length;i++){if(j.options[i].textContent==="F2"){j.selectedIndex=i}}j.dispatchEvent(new Event("change",{bubbles:true}))})()`)
	assert.Regexp(t, `^F2, `, b.Eval(`document.getElementById("now").textContent`))
	assert.Equal(t, "beam off, travelling", b.Eval(`document.getElementById("tool").textContent`))
}

// calm: with less motion asked for, the show goes from cut to cut.
func calm(t *testing.T, b *browsertest.Browser) {
	b.Media("light", "reduce")
	b.Eval(`document.getElementById("player").focus()`)
	b.Key("Home")
	// The show may be over before a slow machine looks again: the page keeps notes.
	b.Eval(`(function(){var now=document.getElementById("now"),tool=document.getElementById("tool");window.seen=[];
		new MutationObserver(function(){window.seen.push([now.textContent,tool.textContent])}).observe(now,{childList:true,characterData:true,subtree:true})})()`)
	b.Click("#play")
	b.Until(`window.seen.some(function(s){return /\(([2-9]|\d\d+) of /.test(s[0])})`)
	assert.Equal(t, true, b.Eval(`window.seen.every(function(s){return s[0]==="done"||s[1]==="beam off, travelling"})`), "it stands at the start of a cut, never on the way")
	b.Key("End")
	assert.Equal(t, "none", b.Eval(`getComputedStyle(document.querySelector("#m1 .spot")).animationName`))
	b.Media("light", "no-preference")
}

// lights: a check lights up what it speaks of, Escape puts it out and gives the
// focus back.
func lights(t *testing.T, b *browsertest.Browser) {
	before := b.Eval(`getComputedStyle(document.querySelector("#m1 .spot")).stroke`)
	b.Eval(`document.querySelector(".passed").open = true`)
	b.Click(`.check[data-where~="m1"]`)
	b.Until(`document.getElementById("m1").classList.contains("hot")`)
	assert.NotEqual(t, before, b.Eval(`getComputedStyle(document.querySelector("#m1 .spot")).stroke`))
	assert.Contains(t, b.Eval(`document.getElementById("told").textContent`), "centre spot, blue")
	b.Until(`(function(){var r=document.getElementById("plan").getBoundingClientRect();return r.top<innerHeight&&r.bottom>0})()`)
	b.Key("Escape")
	assert.Equal(t, 0.0, b.Eval(`document.querySelectorAll(".hot").length`))
	b.Until(`document.activeElement.matches('.check[data-where~="m1"]')`)
	b.Click(`.check[data-where*="sheet2"]`)
	b.Until(`document.getElementById("sheet2").classList.contains("hot")`)
	b.Key("Escape")
	b.Click(`.check[data-where=""]`)
	assert.Contains(t, b.Eval(`document.getElementById("told").textContent`), "job as a whole")
	b.Key("Escape")
}

func switches(t *testing.T, b *browsertest.Browser) {
	dims := `getComputedStyle(document.querySelector("#plan .wide .l-dims")).display`
	assert.Equal(t, "none", b.Eval(dims))
	b.Click(`[data-layer="dims"]`)
	assert.NotEqual(t, "none", b.Eval(dims))
	b.Click(`[data-layer="dims"]`)
	assert.Equal(t, "none", b.Eval(dims))
}

// walks: one step at a time, on a phone's width; the page opens again where it was left, and
// what is typed into the fields is text that the comparison with the plan reads.
func walks(t *testing.T, b *browsertest.Browser) {
	b.Size(390, 844)
	b.Eval(`localStorage.clear()`)
	shown := `[].filter.call(document.querySelectorAll(".step"), e => getComputedStyle(e).display !== "none").map(e => e.querySelector("h3").textContent).join("|")`
	b.Click("#walk")
	b.Until(shown + ` === "Lay the head template"`)
	assert.Equal(t, "none", b.Eval(`getComputedStyle(document.getElementById("sheets")).display`))
	for range 3 {
		b.Click("#walk-next")
	}
	b.Until(shown + ` === "Mark with the head template"`)
	b.Eval(`window.dispatchEvent(new Event("pagehide"))`)
	b.Open(page(t, demoSet()))
	b.Until(shown + ` === "Mark with the head template"`)
	n := b.Eval(`document.querySelectorAll(".step").length`).(float64)
	for range int(n) - 4 {
		b.Click("#walk-next")
	}
	b.Until(shown + ` === "yellow"`)
	assert.Equal(t, true, b.Eval(`document.getElementById("walk-next").disabled`))
	b.Eval(`(function(){var f=document.querySelectorAll(".step.now input");f[0].value="524.5";f[1].value="16 21/32 in";f[1].dispatchEvent(new Event("input",{bubbles:true}))})()`)
	b.Until(`document.getElementById("readings-text").value !== ""`)
	text := b.Eval(`document.getElementById("readings-text").value`).(string)
	assert.Equal(t, "yellow: head 524.5 mm, right 16 21/32 in\n", text)
	_, err := layout.ReadReadings(strings.NewReader(text), "readings.txt")
	require.NoError(t, err)
	b.Open(page(t, demoSet()))
	b.Until(`document.getElementById("readings-text").value !== ""`)
	b.Click("#walk-end")
	b.Until(`getComputedStyle(document.getElementById("sheets")).display !== "none"`)
	b.Eval(`localStorage.clear()`)
}

// inches: chosen once, every length that stands in both units has inches first.
func inches(t *testing.T, b *browsertest.Browser) {
	b.Size(1600, 1000)
	b.Open(page(t, demoSet()))
	sub := `document.querySelector(".sub").textContent`
	assert.Contains(t, b.Eval(sub), "2540.0 mm (100 in)")
	// What the page makes of its texts is what the commands make of theirs.
	texts := func() []any {
		return b.Eval(`(function(){var w=document.createTreeWalker(document.body,NodeFilter.SHOW_TEXT),n,out=[];
			while((n=w.nextNode())){if(!n.parentNode.closest("script,style,textarea,.machine,.unit,.value,.nums,.figures,.budget td")){out.push(n.nodeValue)}}return out})()`).([]any)
	}
	was := texts()
	b.Click(`input[name="units"][value="in"]`)
	b.Until(sub + `.includes("100 in (2540.0 mm)")`)
	turned := 0
	for i, now := range texts() {
		require.Equal(t, figure.InchesFirst(was[i].(string)), now)
		if now != was[i] {
			turned++
		}
	}
	assert.Greater(t, turned, 30)
	assert.Equal(t, "inches", b.Eval(`document.querySelector("#plan .unit").textContent`))
	assert.Equal(t, "100", b.Eval(`[].map.call(document.querySelectorAll(".value"), e => e.textContent).filter(v => v === "100")[0]`), "a dimension")
	b.Open(page(t, demoSet()))
	b.Until(sub + `.includes("100 in (2540.0 mm)")`)
	b.Click(`input[name="units"][value="mm"]`)
	b.Until(sub + `.includes("2540.0 mm (100 in)")`)
}

// measures: two marks chosen, or touched in the picture, have a distance; the baulk line's
// right end and the yellow spot of the demo are half the width less a sixth of it apart:
// 635 - 211.667 = 423.333 mm.
func measures(t *testing.T, b *browsertest.Browser) {
	b.Choose("#dist-a", "0")
	b.Choose("#dist-b", "1")
	b.Until(`document.getElementById("dist").textContent === "423.3 mm (16 21/32 in)"`)
	b.Choose("#dist-b", "")
	touch := func(x, y float64) {
		b.Eval(fmt.Sprintf(`(function(){var s=[].filter.call(document.querySelectorAll("#plan svg.pic"),e=>getComputedStyle(e).display!=="none")[0];
			s.scrollIntoView({block:"center",behavior:"instant"});var m=s.querySelector("g[transform]").getScreenCTM();
			s.dispatchEvent(new MouseEvent("click",{bubbles:true,clientX:m.a*%[1]g+m.c*%[2]g+m.e+3,clientY:m.b*%[1]g+m.d*%[2]g+m.f-3}))})()`, x, y))
	}
	touch(2540*29/140.5, -1270.0/6)
	b.Until(`document.getElementById("dist-b").value === "1"`)
	b.Until(`document.querySelectorAll("#plan .span").length > 0`)
	assert.Equal(t, "423.3 mm (16 21/32 in)", b.Eval(`document.getElementById("dist").textContent`))
}

// zooms: larger shows less of the table, whole all of it again.
func zooms(t *testing.T, b *browsertest.Browser) {
	box := `document.querySelector("#plan .wide").getAttribute("viewBox")`
	was := b.Eval(box)
	b.Click(`.zoom .in`)
	b.Until(fmt.Sprintf(`%s !== %q`, box, was))
	b.Click(`.zoom .whole`)
	b.Until(fmt.Sprintf(`%s === %q`, box, was))
}

// overflows: at three widths and both schemes no element reaches beyond the
// window, one picture of the table shows, and every control is on screen.
func overflows(t *testing.T, b *browsertest.Browser) {
	for _, scheme := range []string{"light", "dark"} {
		b.Media(scheme, "reduce")
		for _, w := range []int{360, 800, 1600} {
			b.Size(w, 900)
			b.Eval(`document.querySelectorAll("details").forEach(d => d.open = true)`)
			over := b.Eval(`(function(){var o=[];document.querySelectorAll("body *:not(defs *):not(svg *)").forEach(function(e){
				if(e.closest(".store")||e.matches(".skip")){return}var r=e.getBoundingClientRect();
				if(r.width>0&&(r.right>innerWidth+0.5||r.left<-0.5)){o.push(e.tagName+"."+e.className+"#"+e.id)}});
				if(document.documentElement.scrollWidth>innerWidth){o.push("page "+document.documentElement.scrollWidth)}return o})()`)
			assert.Empty(t, over, "%s %d", scheme, w)
			shown := b.Eval(`[].filter.call(document.querySelectorAll("#plan .pic"), e => getComputedStyle(e).display !== "none").length`)
			assert.Equal(t, 1.0, shown, "%s %d", scheme, w)
			clipped := b.Eval(`(function(){var o=[];document.querySelectorAll("svg.pic").forEach(function(s){if(getComputedStyle(s).display==="none"){return}
				var f=s.getBoundingClientRect();s.querySelectorAll("text").forEach(function(x){var r=x.getBoundingClientRect();
				if(r.width>0&&(r.left<f.left-1||r.right>f.right+1||r.top<f.top-1||r.bottom>f.bottom+1)){o.push(x.textContent)}})});return o})()`)
			assert.Empty(t, clipped, "text outside its picture, %s %d", scheme, w)
			b.Eval(`document.getElementById("player").focus({preventScroll:true})`)
			b.Key("Home")
			for i := 0; i < 15; i++ {
				b.Key("ArrowRight")
			}
			shoot(t, b, fmt.Sprintf("%s-%d", scheme, w))
			b.Eval(`document.querySelectorAll("details").forEach(d => d.open = false)`)
		}
	}
}

// shoot keeps a picture of every part of the page when SHOTS names a folder.
func shoot(t *testing.T, b *browsertest.Browser, name string) {
	dir := os.Getenv("SHOTS")
	if dir == "" {
		return
	}
	for _, part := range []string{"header", "#table", "#at-table", "#sheets", "#order", "#checks", "#budget", "#marks", "#cautions"} {
		at := b.Eval(fmt.Sprintf(`(function(){var r=document.querySelector(%q).getBoundingClientRect();return [0,r.top+scrollY,innerWidth,r.height]})()`, part)).([]any)
		var r struct{ Data string }
		b.Into(&r, "Page.captureScreenshot", map[string]any{"captureBeyondViewport": true,
			"clip": map[string]any{"x": at[0], "y": at[1], "width": at[2], "height": at[3], "scale": 1}})
		png, err := base64.StdEncoding.DecodeString(r.Data)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, name+"-"+strings.TrimPrefix(part, "#")+".png"), png, 0o600))
	}
}

// hostileNames: texts that try to be markup, script, or JSON end up as text.
func hostileNames(t *testing.T, b *browsertest.Browser) {
	set := demoSet()
	for i, field := range textFields(&set) {
		*field = hostileTexts[i%len(hostileTexts)]
	}
	b.Open(page(t, set))
	b.Until(fmt.Sprintf(`document.querySelectorAll("#stage .op").length === %d`, len(set.Sheets[0].Path.Ops)))
	assert.Nil(t, b.Eval(`window.pwned === undefined ? null : window.pwned`))
	assert.Equal(t, 0.0, b.Eval(`document.querySelectorAll("img,iframe,object,embed,base,form,link").length`))
	assert.Equal(t, 2.0, b.Eval(`document.scripts.length`))
	b.Click("#play")
	b.Until(`document.querySelectorAll("#stage .op.done").length > 3`)
	b.Click(".check")
	assert.Nil(t, b.Eval(`window.pwned === undefined ? null : window.pwned`))
	raw, err := json.Marshal(hostileTexts)
	require.NoError(t, err)
	shown := b.Eval(fmt.Sprintf(`%s.filter(t => document.body.textContent.includes(t)).length`, raw))
	assert.Greater(t, shown, 2.0, "they show as what they are")
}
