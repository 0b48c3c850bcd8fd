package main

import (
	"bytes"
	"encoding/json"
	"runtime/debug"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The keys vcs.revision, vcs.time and vcs.modified are those that the documentation of
// runtime/debug.BuildSetting lists.
func TestStampNamesTheBuild(t *testing.T) {
	vcs := []debug.BuildSetting{{Key: "vcs.revision", Value: "0123456789abcdef0123"}, {Key: "vcs.time", Value: "2026-11-20T10:00:00Z"}}
	for _, tt := range []struct {
		name string
		info debug.BuildInfo
		want string
	}{
		{"checkout", debug.BuildInfo{Settings: vcs}, version + " (commit 0123456789ab of 2026-11-20T10:00:00Z)"},
		{"changed", debug.BuildInfo{Settings: append(vcs[:2:2], debug.BuildSetting{Key: "vcs.modified", Value: "true"})},
			version + " (commit 0123456789ab of 2026-11-20T10:00:00Z, changed since)"},
		{"not changed", debug.BuildInfo{Settings: append(vcs[:2:2], debug.BuildSetting{Key: "vcs.modified", Value: "false"})},
			version + " (commit 0123456789ab of 2026-11-20T10:00:00Z)"},
		{"module", debug.BuildInfo{Main: debug.Module{Version: "v1.2.3"}}, version + " (module v1.2.3)"},
		{"neither", debug.BuildInfo{Main: debug.Module{Version: "(devel)"}}, version + " (commit not known: built outside a checkout)"},
	} {
		t.Run(tt.name, func(t *testing.T) { assert.Equal(t, tt.want, stampOf(&tt.info).String()) })
	}
}

func TestVersionAsJSON(t *testing.T) {
	s := stampOf(&debug.BuildInfo{GoVersion: "go1.26", Settings: []debug.BuildSetting{{Key: "vcs.revision", Value: "abc"}, {Key: "vcs.modified", Value: "true"}}})
	var out bytes.Buffer
	require.NoError(t, runVersion(versionOptions{json: true}, s, &out))
	var got map[string]any
	require.NoError(t, json.Unmarshal(out.Bytes(), &got))
	delete(got, "target")
	assert.Equal(t, map[string]any{"version": version, "module": "", "commit": "abc", "date": "", "changed": true, "go": "go1.26"}, got)
}
