//go:build !js

package rank

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"sort"
	"strconv"
	"strings"
	"sync"

	"github.com/goccy/go-graphviz"
)

// engine guards Graphviz, of which a process has exactly one.
var engine sync.Mutex

// Started reports whether the layout engine has been brought up.
func Started() bool { return graphviz.Started() }

// layers asks Graphviz.
func layers(ctx context.Context, n int, edges []Edge) ([]Place, error) {
	plain, err := layout(ctx, source(n, edges))
	if err != nil {
		return nil, fmt.Errorf("layout engine: %w", err)
	}
	return parse(plain, n)
}

// source writes the graph in Graphviz' language. Every node has one size, so
// that a column has one x.
func source(n int, edges []Edge) []byte {
	var b bytes.Buffer
	b.WriteString("digraph{rankdir=LR;splines=false;nodesep=0.3;ranksep=0.3;node[shape=box,fixedsize=true,width=0.5,height=0.4,label=\"\"];edge[arrowhead=none];\n")
	for i := 0; i < n; i++ {
		fmt.Fprintf(&b, "%d;\n", i)
	}
	for _, e := range edges {
		fmt.Fprintf(&b, "%d->%d[weight=%d];\n", e.From, e.To, max(e.Weight, 1))
	}
	b.WriteString("}\n")
	return b.Bytes()
}

func layout(ctx context.Context, src []byte) ([]byte, error) {
	engine.Lock()
	defer engine.Unlock()
	if err := graphviz.Start(ctx, cacheFolder()); err != nil {
		return nil, err
	}
	g, err := graphviz.New(ctx)
	if err != nil {
		return nil, err
	}
	defer g.Close()
	graph, err := graphviz.ParseBytes(src)
	if err != nil {
		return nil, err
	}
	defer graph.Close()
	var out bytes.Buffer
	if err := g.Render(ctx, graph, "plain", &out); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// parse reads Graphviz' plain output: "node name x y ...", y upwards.
func parse(plain []byte, n int) ([]Place, error) {
	xs := make([]float64, n)
	places := make([]Place, n)
	seen := 0
	lines := bufio.NewScanner(bytes.NewReader(plain))
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		f := strings.Fields(lines.Text())
		if len(f) < 4 || f[0] != "node" {
			continue
		}
		i, err := strconv.Atoi(f[1])
		if err != nil || i < 0 || i >= n {
			return nil, fmt.Errorf("layout engine placed an unknown node %q", f[1])
		}
		x, errX := strconv.ParseFloat(f[2], 64)
		y, errY := strconv.ParseFloat(f[3], 64)
		if errX != nil || errY != nil {
			return nil, fmt.Errorf("layout engine placed a node at %q, %q", f[2], f[3])
		}
		xs[i], places[i].Height = x, -y
		seen++
	}
	if err := lines.Err(); err != nil {
		return nil, err
	}
	if seen != n {
		return nil, fmt.Errorf("layout engine placed %d nodes of %d", seen, n)
	}
	columns := append([]float64(nil), xs...)
	sort.Float64s(columns)
	at, last := -1, 0.0
	column := map[float64]int{}
	for _, x := range columns {
		if at < 0 || x-last > 0.1 {
			at++
			last = x
		}
		column[x] = at
	}
	for i := range places {
		places[i].Column = column[xs[i]]
	}
	return places, nil
}
