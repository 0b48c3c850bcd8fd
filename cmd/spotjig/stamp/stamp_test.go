package stamp

import (
	"regexp"
	"runtime/debug"
	"testing"

	"github.com/stretchr/testify/assert"
)

const version = "0.1.0"

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
		t.Run(tt.name, func(t *testing.T) { assert.Equal(t, tt.want, Of(version, "", &tt.info).String()) })
	}
}

// What stands in every file. Build metadata behind a + is dots and identifiers of letters,
// digits and hyphens: Semantic Versioning 2.0.0, section 10.
func TestStampOfEveryFile(t *testing.T) {
	vcs := func(changed string) []debug.BuildSetting {
		return []debug.BuildSetting{{Key: "vcs.revision", Value: "0123456789abcdef0123"}, {Key: "vcs.modified", Value: changed}}
	}
	metadata := regexp.MustCompile(`^\d+\.\d+\.\d+\+[0-9A-Za-z-]+(\.[0-9A-Za-z-]+)*$`)
	for _, tt := range []struct {
		name, want string
		info       debug.BuildInfo
	}{
		{"checkout", version + "+0123456789ab", debug.BuildInfo{Settings: vcs("false")}},
		{"changed", version + "+0123456789ab.changed", debug.BuildInfo{Settings: vcs("true")}},
		{"checkout of a named module", version + "+0123456789ab", debug.BuildInfo{Main: debug.Module{Version: "v1.2.3"}, Settings: vcs("false")}},
		{"module", version + "+v1.2.4-rc.1", debug.BuildInfo{Main: debug.Module{Version: "v1.2.4-rc.1"}}},
		{"module with metadata", version + "+v1.2.4.dirty", debug.BuildInfo{Main: debug.Module{Version: "v1.2.4+dirty"}}},
		{"neither", version + "+unknown", debug.BuildInfo{Main: debug.Module{Version: "(devel)"}}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got := Of(version, "", &tt.info).Stamp
			assert.Equal(t, tt.want, got)
			assert.Regexp(t, metadata, got)
		})
	}
	assert.Equal(t, "1.0.0+a.b.c", Text("1.0.0+a\nb(c"))
}
