package main

import (
	"cmp"
	"debug/buildinfo"
	"encoding/json"
	"slices"
)

// bill lists what is linked into the programs, by what the go command recorded in
// them, as CycloneDX 1.6 (ECMA-424) has it.
func (r *release) bill(binaries, names []string) ([]byte, error) {
	type component struct {
		Type    string `json:"type"`
		Ref     string `json:"bom-ref"`
		Name    string `json:"name"`
		Version string `json:"version"`
		URL     string `json:"purl,omitempty"`
	}
	type depends struct {
		Ref string   `json:"ref"`
		On  []string `json:"dependsOn"`
	}
	var parts, apps []component
	var links []depends
	for i, binary := range binaries {
		info, err := buildinfo.ReadFile(binary)
		if err != nil {
			return nil, err
		}
		app := component{"application", names[i], names[i], r.version, ""}
		on := depends{app.Ref, []string{}}
		language := component{"library", "pkg:golang/std@" + info.GoVersion[len("go"):], "std", info.GoVersion[len("go"):], ""}
		list := []component{language}
		for _, m := range info.Deps {
			url := "pkg:golang/" + m.Path + "@" + m.Version
			list = append(list, component{"library", url, m.Path, m.Version, url})
		}
		for _, c := range list {
			on.On = append(on.On, c.Ref)
			if !slices.Contains(parts, c) {
				parts = append(parts, c)
			}
		}
		apps, links = append(apps, app), append(links, on)
	}
	slices.SortFunc(parts, func(a, b component) int { return cmp.Compare(a.Ref, b.Ref) })
	return json.MarshalIndent(map[string]any{
		"bomFormat":   "CycloneDX",
		"specVersion": "1.6",
		"version":     1,
		"metadata": map[string]any{
			"timestamp": r.date.Format("2006-01-02T15:04:05Z"),
			"component": map[string]any{"type": "application", "bom-ref": "release", "name": "legtrace", "version": r.version, "components": apps},
		},
		"components":   parts,
		"dependencies": links,
	}, "", "  ")
}
