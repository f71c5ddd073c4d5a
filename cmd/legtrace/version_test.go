package main

import (
	"runtime"
	"runtime/debug"
	"testing"
)

func TestVersionNamesTheSource(t *testing.T) {
	here := "; go1.26 " + runtime.GOOS + "/" + runtime.GOARCH
	vcs := func(pairs ...string) []debug.BuildSetting {
		var list []debug.BuildSetting
		for i := 0; i < len(pairs); i += 2 {
			list = append(list, debug.BuildSetting{Key: "vcs." + pairs[i], Value: pairs[i+1]})
		}
		return list
	}
	for _, c := range []struct {
		module   string
		settings []debug.BuildSetting
		want     string
	}{
		{"(devel)", nil, "(devel), of no recorded commit"},
		{"v1.2.0", vcs("revision", "0123456789abcdef0123", "time", "2026-05-01T10:11:12Z", "modified", "false"), "v1.2.0, commit 0123456789ab of 2026-05-01"},
		{"", vcs("revision", "0123456789abcdef0123", "time", "2026-05-01T10:11:12Z", "modified", "true"), "(devel), commit 0123456789ab of 2026-05-01, changed since"},
	} {
		info := &debug.BuildInfo{GoVersion: "go1.26", Settings: c.settings}
		info.Main.Version = c.module
		if got := versionOf(info); got != c.want+here {
			t.Errorf("%q, want %q", got, c.want+here)
		}
	}
}
