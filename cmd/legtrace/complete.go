package main

import (
	"strings"

	"github.com/spf13/cobra"

	"legtrace/netlists"
	"legtrace/render/report"
)

// completer offers words for what is being typed.
type completer = func(cmd *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective)

// complete sets a flag's completer. It fails only for a flag that does not
// exist.
func complete(cmd *cobra.Command, flag string, f completer) {
	if err := cmd.RegisterFlagCompletionFunc(flag, f); err != nil {
		panic(err)
	}
}

// completeNetlist offers the catalog beside the files.
func completeNetlist(_ *cobra.Command, _ []string, typed string) ([]string, cobra.ShellCompDirective) {
	if !strings.HasPrefix(netlists.CatalogPrefix, typed) && !strings.HasPrefix(typed, netlists.CatalogPrefix) {
		return []string{"toml"}, cobra.ShellCompDirectiveFilterFileExt
	}
	var out []string
	for _, e := range netlists.Catalog() {
		out = append(out, netlists.CatalogPrefix+e.Name+"\t"+e.Title)
	}
	if typed == "" {
		return out, cobra.ShellCompDirectiveDefault
	}
	return out, cobra.ShellCompDirectiveNoFileComp
}

// completing offers names out of the netlist named earlier on the line. A
// netlist that cannot be read offers none.
func (n *netlistFlags) completing(names func(*report.Reporter) []report.Name) completer {
	return func(_ *cobra.Command, _ []string, typed string) ([]string, cobra.ShellCompDirective) {
		m, err := n.open()
		if err != nil {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		return words(names(m.Reporter), typed), cobra.ShellCompDirectiveNoFileComp
	}
}

// completeFault offers parts and wires, then the ways they can fail.
func (n *netlistFlags) completeFault(_ *cobra.Command, _ []string, typed string) ([]string, cobra.ShellCompDirective) {
	m, err := n.open()
	if err != nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	ref, _, kind := strings.Cut(typed, ":")
	if !kind {
		names := m.FaultNames()
		for i := range names {
			names[i].Ref += ":"
		}
		return words(names, typed), cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
	}
	var out []string
	for _, k := range m.FaultKinds(ref) {
		out = append(out, ref+":"+k)
	}
	return out, cobra.ShellCompDirectiveNoFileComp
}

// completeSymptom offers loads, then modes.
func (n *netlistFlags) completeSymptom(_ *cobra.Command, _ []string, typed string) ([]string, cobra.ShellCompDirective) {
	m, err := n.open()
	if err != nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	load, _, mode := strings.Cut(typed, "=")
	if !mode {
		return words(m.LoadNames(), typed), cobra.ShellCompDirectiveNoFileComp
	}
	out := m.ModeNames()
	for i := range out {
		out[i].Ref = load + "=" + out[i].Ref
	}
	return words(out, typed), cobra.ShellCompDirectiveNoFileComp
}

// words writes those names that begin as typed, with what they stand for, as
// cobra takes them.
func words(names []report.Name, typed string) []string {
	var out []string
	for _, n := range names {
		if strings.HasPrefix(n.Ref, typed) {
			out = append(out, n.Ref+"\t"+n.Label)
		}
	}
	return out
}
