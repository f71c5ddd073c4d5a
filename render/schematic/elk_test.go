package schematic

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"testing"
)

// layeredByELK is a program for Node that has ELK lay out the graphs it reads, in
// its JSON format, and prints the edges of each.
const layeredByELK = `const elk = new (require(process.argv[1]))();
(async () => {
  const graphs = JSON.parse(require("fs").readFileSync(0));
  for (const i in graphs) graphs[i] = (await elk.layout(graphs[i])).edges;
  console.log(JSON.stringify(graphs));
})()`

// elkGraph is a graph in ELK's JSON format, as far as we write and read it.
type elkGraph struct {
	ID      string            `json:"id"`
	Options map[string]string `json:"layoutOptions"`
	Nodes   []elkNode         `json:"children"`
	Edges   []elkEdge         `json:"edges"`
}

// elkNode is a symbol, a bus, or one of a symbol's pins.
type elkNode struct {
	ID      string            `json:"id"`
	X       int               `json:"x"`
	Y       int               `json:"y"`
	Width   int               `json:"width"`
	Height  int               `json:"height"`
	Ports   []elkNode         `json:"ports,omitempty"`
	Options map[string]string `json:"layoutOptions,omitempty"`
}

type elkEdge struct {
	ID       string   `json:"id"`
	Sources  []string `json:"sources"`
	Targets  []string `json:"targets"`
	Sections []struct {
		Start elkPoint   `json:"startPoint"`
		Bends []elkPoint `json:"bendPoints"`
		End   elkPoint   `json:"endPoint"`
	} `json:"sections,omitempty"`
}

type elkPoint struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
}

// layeredWithELK has the layered algorithm of the Eclipse Layout Kernel lay out
// the outlines with their pins (Schulze, Spönemann, von Hanxleden, Drawing layered
// graphs with port constraints, Journal of Visual Languages and Computing 25(2),
// 2014), with orthogonal edges. .ci/fetch has its script.
func layeredWithELK(t testing.TB, outlines []outline) []figures {
	t.Helper()
	script := os.Getenv("LEGTRACE_ELK")
	if _, err := os.Stat(script); err != nil {
		if os.Getenv("CI") == "true" && script != "unreachable" {
			t.Fatal("LEGTRACE_ELK names no elk.bundled.js, and CI=true says that it has to be there: ", err)
		}
		t.Skip("LEGTRACE_ELK names no elk.bundled.js of elkjs: crossings are not compared with it")
	}
	graphs := make([]elkGraph, len(outlines))
	for k, s := range outlines {
		g := &graphs[k]
		g.ID = "machine"
		g.Options = map[string]string{"elk.algorithm": "layered", "elk.direction": "RIGHT", "elk.edgeRouting": "ORTHOGONAL"}
		for i, b := range s.boxes {
			g.Nodes = append(g.Nodes, elkNode{ID: strconv.Itoa(i), Width: max(b.width, 1), Height: max(b.height, 1)})
		}
		for i, e := range s.edges {
			edge := elkEdge{ID: fmt.Sprint("e", i)}
			for k, end := range [2]int{e.From, e.To} {
				name := strconv.Itoa(end)
				if p := s.pins[i][k]; p != nil {
					n := &g.Nodes[end]
					name = fmt.Sprintf("%d.%d.%d", end, i, k)
					n.Ports = append(n.Ports, elkNode{ID: name, X: p.x, Y: p.y})
					n.Options = map[string]string{"elk.portConstraints": "FIXED_POS"}
				}
				if k == 0 {
					edge.Sources = []string{name}
				} else {
					edge.Targets = []string{name}
				}
			}
			g.Edges = append(g.Edges, edge)
		}
	}
	asked, err := json.Marshal(graphs)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("node", "-e", layeredByELK, script)
	cmd.Stdin, cmd.Stderr = bytes.NewReader(asked), os.Stderr
	said, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var drawn [][]elkEdge
	if err := json.Unmarshal(said, &drawn); err != nil {
		t.Fatal(err)
	}
	var out []figures
	for k, s := range outlines {
		ways := make([][][]xy, len(s.edges))
		for i, e := range drawn[k] {
			for _, w := range e.Sections {
				way := []xy{{w.Start.X, w.Start.Y}}
				for _, p := range append(w.Bends, w.End) {
					way = append(way, xy{p.X, p.Y})
				}
				ways[i] = append(ways[i], way)
			}
			if ways[i] == nil {
				t.Fatalf("ELK drew no edge %d", i)
			}
		}
		out = append(out, s.judged(ways))
	}
	return out
}
