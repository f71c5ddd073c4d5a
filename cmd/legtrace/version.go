package main

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"strings"
)

// builtAs is set when a release is built: its version, commit and date in words. The
// go command itself records none of these in a worktree.
var builtAs string

// version tells which source the program is of, as the release or else the go
// command recorded it.
func version() string {
	if builtAs != "" {
		return fmt.Sprintf("%s; %s %s/%s", builtAs, runtime.Version(), runtime.GOOS, runtime.GOARCH)
	}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "of unknown source"
	}
	return versionOf(info)
}

func versionOf(info *debug.BuildInfo) string {
	set := map[string]string{}
	for _, s := range info.Settings {
		set[s.Key] = s.Value
	}
	name, from := info.Main.Version, "of no recorded commit"
	if name == "" {
		name = "(devel)"
	}
	if commit := set["vcs.revision"]; commit != "" {
		day, _, _ := strings.Cut(set["vcs.time"], "T")
		from = fmt.Sprintf("commit %.12s of %s", commit, day)
		if set["vcs.modified"] == "true" {
			from += ", changed since"
		}
	}
	return fmt.Sprintf("%s, %s; %s %s/%s", name, from, info.GoVersion, runtime.GOOS, runtime.GOARCH)
}
