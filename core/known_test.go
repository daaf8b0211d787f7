package core_test

import (
	"bufio"
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// A known answer that no test asks for proves nothing: each id of testdata must be named by a test of its room, in full or,
// as an argument of a function that reads a family of answers, by its beginning.
func TestEveryKnownAnswerIsAskedFor(t *testing.T) {
	files, err := filepath.Glob("../testdata/*/*.jsonl")
	if err != nil || len(files) == 0 {
		t.Fatal("no known answers", err)
	}
	for _, file := range files {
		if filepath.Base(file) == "examples.jsonl" {
			continue // read whole by its test
		}
		room := filepath.Base(filepath.Dir(file))
		full, families := namedIn(t, room)
		for _, id := range idsOf(t, file) {
			if !full[id] && !beginsWith(id, families) {
				t.Errorf("%s: no test of %s asks for %q", file, room, id)
			}
		}
	}
}

func idsOf(t *testing.T, file string) (ids []string) {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for lines := bufio.NewScanner(f); lines.Scan(); {
		var a struct{ ID string }
		if err := json.Unmarshal(lines.Bytes(), &a); err != nil || a.ID == "" {
			t.Fatalf("%s: a line without an id: %v", file, err)
		}
		ids = append(ids, a.ID)
	}
	return ids
}

// namedIn gives the texts in a room's tests, and those that are passed to functions which read families of answers.
func namedIn(t *testing.T, room string) (texts map[string]bool, families []string) {
	t.Helper()
	texts = map[string]bool{}
	files, _ := filepath.Glob(room + "/*_test.go")
	for _, file := range files {
		tree, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(tree, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.BasicLit:
				texts[literal(n)] = true
			case *ast.CallExpr:
				if name := calledName(n); strings.Contains(strings.ToLower(name), "answers") || strings.HasPrefix(name, "known") {
					for _, arg := range n.Args {
						families = append(families, literal(arg))
					}
				}
			}
			return true
		})
	}
	return texts, families
}

func calledName(c *ast.CallExpr) string {
	if id, ok := c.Fun.(*ast.Ident); ok {
		return id.Name
	}
	return ""
}

func literal(e ast.Expr) string {
	lit, ok := e.(*ast.BasicLit)
	if !ok || lit.Kind != token.STRING {
		return ""
	}
	s, _ := strconv.Unquote(lit.Value)
	return s
}

func beginsWith(id string, families []string) bool {
	for _, f := range families {
		if f != "" && strings.HasPrefix(id, f) && strings.Trim(id[len(f):], "-0123456789") == "" {
			return true
		}
	}
	return false
}
