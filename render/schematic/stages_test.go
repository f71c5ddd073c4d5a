package schematic

import (
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"io/fs"
	"strings"
	"testing"
)

// decides names the stage that decides on a type's fields: its files begin so.
var decides = map[string]string{
	"graph": "plan", "columns": "plan", "rows": "plan", "plan": "plan", "unit": "plan", "pin": "plan", "net": "plan", "line": "plan",
	"trunk": "plan", "tie": "plan", "bundle": "plan",
	"routing": "route", "router": "route", "run": "route",
	"annotation": "annotate", "flag": "annotate", "tag": "annotate",
}

type nothing struct{}

func (nothing) Import(string) (*types.Package, error) { return nil, errors.New("not needed") }

// A stage leaves what earlier ones decided as it is: no assignment to a field of
// theirs, but for one of a copy.
func TestStagesWriteOnlyTheirOwn(t *testing.T) {
	files := token.NewFileSet()
	//lint:ignore SA1019 one package without build tags is all there is to see
	parsed, err := parser.ParseDir(files, ".", func(f fs.FileInfo) bool { return !strings.HasSuffix(f.Name(), "_test.go") }, 0)
	if err != nil {
		t.Fatal(err)
	}
	var all []*ast.File
	for _, f := range parsed["schematic"].Files {
		all = append(all, f)
	}
	info := &types.Info{Selections: map[*ast.SelectorExpr]*types.Selection{}, Types: map[ast.Expr]types.TypeAndValue{}}
	// What other packages declare stays unknown: only this one's types matter.
	_, _ = (&types.Config{Importer: nothing{}, Error: func(error) {}}).Check("schematic", files, all, info)
	seen := 0
	var check func(stage string, to ast.Expr)
	check = func(stage string, to ast.Expr) {
		switch x := to.(type) {
		case *ast.IndexExpr:
			check(stage, x.X)
		case *ast.StarExpr:
			check(stage, x.X)
		case *ast.SelectorExpr:
			s := info.Selections[x]
			if s == nil {
				return
			}
			if _, plain := x.X.(*ast.Ident); plain && len(s.Index()) == 1 && !pointer(s.Recv()) {
				return // of a copy
			}
			seen++
			if of := declares(s); decides[of] != "" && decides[of] != stage {
				t.Errorf("%s: stage %s writes %s of %s, which is for %s to decide", files.Position(x.Pos()), stage, x.Sel.Name, of, decides[of])
			}
			check(stage, x.X)
		}
	}
	for _, f := range all {
		stage, _, _ := strings.Cut(strings.TrimSuffix(files.Position(f.Pos()).Filename, ".go"), "_")
		if stage == "stages" {
			continue
		}
		ast.Inspect(f, func(n ast.Node) bool {
			switch x := n.(type) {
			case *ast.AssignStmt:
				for _, to := range x.Lhs {
					check(stage, to)
				}
			case *ast.IncDecStmt:
				check(stage, x.X)
			}
			return true
		})
	}
	if seen < 100 {
		t.Errorf("only %d assignments to fields seen", seen)
	}
}

func pointer(t types.Type) bool { _, is := t.Underlying().(*types.Pointer); return is }

// declares names the struct that declares a field, which may be embedded.
func declares(s *types.Selection) string {
	at := s.Recv()
	for i, field := range s.Index() {
		if p, ok := at.(*types.Pointer); ok {
			at = p.Elem()
		}
		if i == len(s.Index())-1 {
			break
		}
		at = at.Underlying().(*types.Struct).Field(field).Type()
	}
	if n, ok := at.(*types.Named); ok {
		return n.Obj().Name()
	}
	return ""
}
