package web_test

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/post/web"
)

func files(t *testing.T, p web.Program) map[string]string {
	t.Helper()
	list, err := web.Files(p)
	require.NoError(t, err)
	out := map[string]string{}
	for _, f := range list {
		out[f.Name] = string(f.Data)
	}
	return out
}

// The terms of what is in the page stand in it as text.
func TestNoticeIsShown(t *testing.T) {
	page := files(t, web.Program{Version: "1", Notice: "Letters <of> R & D\n"})[web.PageName]
	assert.Contains(t, page, ">Letters &lt;of&gt; R &amp; D<")
}

// The page may run its own script and connect to nobody, by its policy; the policy's
// hashes are of the very script and style that stand in it (CSP Level 3, section 6.7.2.3).
func TestPolicy(t *testing.T) {
	page := files(t, web.Program{Wasm: []byte("\x00asm"), Support: "self.Go = function () {};", Version: "1.2.3+abc"})[web.PageName]
	policy := regexp.MustCompile(`Content-Security-Policy" content="([^"]*)"`).FindStringSubmatch(page)
	require.NotNil(t, policy)
	assert.True(t, strings.HasPrefix(policy[1], "default-src 'none';"))
	for _, no := range []string{"connect-src", "unsafe-inline", "'unsafe-eval'", "http", "*"} {
		assert.NotContains(t, policy[1], no)
	}
	for _, tag := range []string{"script", "style"} {
		m := regexp.MustCompile(`(?s)<`+tag+`>(.*?)</`+tag+`>`).FindAllStringSubmatch(page, -1)
		require.Len(t, m, 1, tag)
		sum := sha256.Sum256([]byte(m[0][1]))
		assert.Contains(t, policy[1], "'sha256-"+base64.StdEncoding.EncodeToString(sum[:])+"'")
	}
	assert.NotContains(t, page, "{{")
	assert.NotRegexp(t, ` (src|href)="(https?:|//)`, page, "the page loads nothing")
}

// The script puts every text in as text: none of the ways to make markup of it is there,
// and it asks no network.
func TestScriptMakesNoMarkup(t *testing.T) {
	page := files(t, web.Program{Version: "1"})[web.PageName]
	for _, no := range []string{"innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "DOMParser", "XMLHttpRequest", "fetch(", "WebSocket", "sendBeacon", "EventSource", "eval(", "new Function", "importScripts", "cookie", "indexedDB"} {
		assert.NotContains(t, page, no)
	}
}

// Every byte of the program comes through HTML: no letter is one that its reader changes
// (NUL, CR; HTML Living Standard, 13.2.3.5 and 13.2.5.4) or takes for a tag, and what the
// worker makes of each is the byte.
func TestProgramAsText(t *testing.T) {
	var all []byte
	for i := range 256 {
		all = append(all, byte(i), 0, '\r', '<', byte(255-i))
	}
	page := files(t, web.Program{Wasm: all, Version: "1"})[web.PageName]
	_, text, _ := strings.Cut(page, `id="packed">`)
	text, _, _ = strings.Cut(text, "</script>")
	key := regexp.MustCompile(`charCodeAt\(i\) \^ (\d+);`).FindStringSubmatch(page)
	require.NotNil(t, key)
	k, err := strconv.Atoi(key[1])
	require.NoError(t, err)
	assert.NotContains(t, text, "<")
	assert.NotContains(t, text, "\r")
	assert.NotContains(t, text, "\x00")
	var got []byte
	for _, c := range utf16.Encode([]rune(text)) {
		got = append(got, byte(int(c)^k))
	}
	assert.Equal(t, all, got)
}

func TestManifestAndService(t *testing.T) {
	a := files(t, web.Program{Version: "1"})
	var m struct {
		Name     string
		StartURL string `json:"start_url"`
		Icons    []struct{ Src string }
	}
	require.NoError(t, json.Unmarshal([]byte(a[web.ManifestName]), &m))
	assert.Equal(t, "./", m.StartURL)
	require.Len(t, m.Icons, 1)
	assert.True(t, strings.HasPrefix(m.Icons[0].Src, "data:image/svg+xml,"))
	b := files(t, web.Program{Version: "2"})
	assert.NotEqual(t, a[web.ServiceName], b[web.ServiceName], "another page is another cache")
	assert.Equal(t, a, files(t, web.Program{Version: "1"}), "same program, same bytes")
}

func TestRefused(t *testing.T) {
	_, err := web.Files(web.Program{Version: `1"><script>`})
	assert.ErrorContains(t, err, "version")
	_, err = web.Files(web.Program{Version: "1", Support: "// </SCRIPT>"})
	assert.ErrorContains(t, err, "support script")
}
