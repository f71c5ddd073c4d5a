// Legtrace-chart draws a graph written in DOT, such as legtrace plan and legtrace
// draw write, as SVG or PNG, or as a page to print.
//
// It is a program of its own because Graphviz, which it draws with, starts with
// every program that links it.
package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"html/template"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/goccy/go-graphviz"
	"github.com/spf13/cobra"

	"legtrace/cmd/legtrace-chart/alone"
	"legtrace/netlists/wholefile"
)

func main() {
	err := alone.Over()
	if err == nil {
		err = newCommand().Execute()
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "legtrace-chart: "+err.Error())
		os.Exit(2)
	}
}

func newCommand() *cobra.Command {
	var file string
	cmd := &cobra.Command{
		Use:   "legtrace-chart [FILE]",
		Short: "Draw a graph written in DOT",
		Long: `Draws a graph written in DOT, from a file or standard input, as SVG or PNG, or as
a page to print: what the output's name ends in says which. legtrace plan --chart
and legtrace draw --nets start it by themselves.`,
		Example: `  legtrace plan --complaint "broil element dead in broil" --chart - |
    legtrace-chart --output plan.html`,
		Args:          cobra.MaximumNArgs(1),
		SilenceUsage:  true,
		SilenceErrors: true,
		RunE: func(cmd *cobra.Command, args []string) error {
			text, err := read(cmd.InOrStdin(), args)
			if err != nil {
				return err
			}
			out, err := draw(cmd.Context(), text, strings.ToLower(filepath.Ext(file)))
			if err != nil {
				return err
			}
			return wholefile.Write(file, out, 0o666)
		},
	}
	cmd.Flags().StringVarP(&file, "output", "o", "", "`FILE` to write: NAME.svg, NAME.png or NAME.html")
	if err := cmd.MarkFlagRequired("output"); err != nil {
		panic(err) // the flag is there
	}
	return cmd
}

// mostBytes is what a graph may have.
const mostBytes = 16 << 20

func read(in io.Reader, args []string) ([]byte, error) {
	if len(args) > 0 && args[0] != "-" {
		f, err := os.Open(args[0])
		if err != nil {
			return nil, err
		}
		defer f.Close()
		in = f
	}
	text, err := io.ReadAll(io.LimitReader(in, mostBytes+1))
	if len(text) > mostBytes {
		return nil, fmt.Errorf("the graph has more than %d MiB", mostBytes>>20)
	}
	return text, err
}

// draw lays a graph out and writes it as what a file's name ends in.
func draw(ctx context.Context, text []byte, ext string) ([]byte, error) {
	format := graphviz.SVG
	switch ext {
	case ".svg", ".html":
	case ".png":
		format = graphviz.PNG
	default:
		return nil, fmt.Errorf("--output ends in %q: it is NAME.svg, NAME.png or NAME.html", ext)
	}
	g, err := graphviz.New(ctx)
	if err != nil {
		return nil, err
	}
	defer g.Close()
	graph, err := graphviz.ParseBytes(text)
	if err != nil {
		return nil, fmt.Errorf("this is no graph in DOT: %w", err)
	}
	if graph == nil {
		return nil, errors.New("this is no graph in DOT")
	}
	defer graph.Close()
	var out bytes.Buffer
	if err := g.Render(ctx, graph, format, &out); err != nil {
		return nil, fmt.Errorf("the graph cannot be drawn: %w", err)
	}
	if ext == ".html" {
		return printable(out.Bytes())
	}
	return out.Bytes(), nil
}

// sheet fits a drawing to one sheet, whatever the paper.
var sheet = template.Must(template.New("sheet").Parse(`<!DOCTYPE html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>Chart</title>
<style>
@page { margin: 10mm; }
body { margin: 0; }
svg { display: block; margin: auto; width: 100%; height: 100vh; }
</style>
{{.}}
</html>
`))

// printable is a page with nothing but the drawing.
func printable(svg []byte) ([]byte, error) {
	at := bytes.Index(svg, []byte("<svg"))
	if at < 0 {
		return nil, errors.New("the drawing is no SVG")
	}
	var page bytes.Buffer
	err := sheet.Execute(&page, template.HTML(svg[at:])) // Graphviz escapes what it is given
	return page.Bytes(), err
}
