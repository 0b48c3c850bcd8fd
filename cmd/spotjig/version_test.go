package main

import (
	"bytes"
	"context"
	"encoding/json"
	"path/filepath"
	"regexp"
	"runtime/debug"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"spotjig/post/work"
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
			got := stampOf(&tt.info).Stamp
			assert.Equal(t, tt.want, got)
			assert.Regexp(t, metadata, got)
		})
	}
	assert.Equal(t, "1.0.0+a.b.c", stampText("1.0.0+a\nb(c"))
}

// The stamp stands in the head of every file but the two whose formats have no head: the
// table of marks, and the hashes, which are over all others.
func TestStampInEveryHead(t *testing.T) {
	names := []string{"", "../../testdata/jobs/knife-card.yaml"}
	if testing.Short() {
		names = names[:1]
	}
	for _, name := range names {
		o, err := loadJob(name)
		require.NoError(t, err)
		opt := makeDefaults
		opt.Version, opt.SVG = "0.1.0+0123456789ab.changed", true
		made, err := o.Build(context.Background(), opt)
		require.NoError(t, err)
		require.Empty(t, made.Failures())
		for _, f := range made.Files {
			if f.Name == "marks.csv" || f.Name == work.SumsName {
				continue
			}
			if filepath.Ext(f.Name) == ".pdf" {
				// A producer in UTF-16, which a reader of PDF shows in its properties.
				assert.Contains(t, strings.ReplaceAll(string(f.Data), "\x00", ""), opt.Version, f.Name)
				continue
			}
			head := f.Data[:min(len(f.Data), 1000)]
			assert.Contains(t, string(head), opt.Version, f.Name)
		}
	}
}

// Pieces are lettered with the version alone: two builds that cut the same write the same
// moves, and only the heads tell them apart.
func TestStampMovesNothing(t *testing.T) {
	moves := func(made work.Made, stamp string) string {
		for _, f := range made.Files {
			if f.Name == "sheet-1.nc" {
				return strings.ReplaceAll(string(f.Data), stamp, "")
			}
		}
		t.Fatal("no program")
		return ""
	}
	o, err := loadJob("")
	require.NoError(t, err)
	opt := makeDefaults
	opt.Version = version + "+0123456789ab"
	require.NotEqual(t, makeDefaults.Version, opt.Version)
	made, err := o.Build(context.Background(), opt)
	require.NoError(t, err)
	assert.Equal(t, moves(buildJob(t, ""), makeDefaults.Version), moves(made, opt.Version))
}

func TestVersionAsJSON(t *testing.T) {
	s := stampOf(&debug.BuildInfo{GoVersion: "go1.26", Settings: []debug.BuildSetting{{Key: "vcs.revision", Value: "abc"}, {Key: "vcs.modified", Value: "true"}}})
	var out bytes.Buffer
	require.NoError(t, runVersion(versionOptions{json: true}, s, &out))
	var got map[string]any
	require.NoError(t, json.Unmarshal(out.Bytes(), &got))
	delete(got, "target")
	assert.Equal(t, map[string]any{"version": version, "stamp": version + "+abc.changed", "problems": []any{}, "module": "", "commit": "abc", "date": "", "changed": true, "go": "go1.26"}, got)
}
