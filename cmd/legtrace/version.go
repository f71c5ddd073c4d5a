package main

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"strings"
)

// version tells which source the program is of, as the go command recorded it.
func version() string {
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
