"""Makes networks.json: resistance between nodes of random networks and grids.

Run it with Debian's python3, python3-scipy and python3-networkx:

    python3 table.py > networks.json

The ohms come from SciPy's pseudo-inverse of the weighted Laplacian, and are
held against networkx.resistance_distance before they are written.
"""

import json
import platform
import random

import networkx
import numpy
import scipy
import scipy.linalg


def laplacian(n, edges):
    l = numpy.zeros((n, n))
    for a, b, ohms in edges:
        l[a, a] += 1 / ohms
        l[b, b] += 1 / ohms
        l[a, b] -= 1 / ohms
        l[b, a] -= 1 / ohms
    return l


def between(n, edges, pairs):
    p = scipy.linalg.pinvh(laplacian(n, edges))
    g = networkx.MultiGraph()
    g.add_nodes_from(range(n))
    for a, b, ohms in edges:
        g.add_edge(a, b, ohms=ohms)
    out = []
    for a, b in pairs:
        ohms = p[a, a] + p[b, b] - 2 * p[a, b]
        other = networkx.resistance_distance(g, a, b, weight="ohms", invert_weight=True)
        assert abs(ohms - other) < 1e-9 * ohms, (ohms, other)
        out.append([a, b, float(ohms)])
    return out


def tree_and_more(r, n, more):
    ohms = lambda: round(10 ** r.uniform(0, 3), 3)
    edges = [(r.randrange(i), i, ohms()) for i in range(1, n)]
    while len(edges) < n - 1 + more:
        a, b = r.sample(range(n), 2)
        edges.append((a, b, ohms()))
    return edges


def grid(rows, columns):
    at = lambda r, c: r * columns + c
    across = [(at(r, c), at(r, c + 1), 1.0) for r in range(rows) for c in range(columns - 1)]
    down = [(at(r, c), at(r + 1, c), 1.0) for r in range(rows - 1) for c in range(columns)]
    return across + down


def main():
    r = random.Random(20)
    networks = []
    for k in range(20):
        n = 5 + 2 * k
        edges = tree_and_more(r, n, n)
        networks.append((f"random {k + 1}", n, edges, [tuple(r.sample(range(n), 2)) for _ in range(5)]))
    for rows, columns in [(3, 3), (4, 7), (10, 10)]:
        n = rows * columns
        networks.append((f"grid {rows} by {columns}", n, grid(rows, columns), [(0, n - 1), (0, columns - 1), (0, 1)]))
    made_with = {"python": platform.python_version(), "numpy": numpy.__version__,
                 "scipy": scipy.__version__, "networkx": networkx.__version__}
    # An edge, and a resistance between two nodes, is [node, node, ohms].
    lines = [json.dumps({"name": name, "edges": edges, "between": between(n, edges, pairs)})
             for name, n, edges, pairs in networks]
    print('{"made_with": %s,\n"networks": [\n%s\n]}' % (json.dumps(made_with), ",\n".join(lines)))


main()
