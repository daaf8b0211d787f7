// Package core_test holds the rules of the house that no compiler checks.
package core_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// Which rooms each room may look into. Imports point one way: from the answer down to the bytes.
var below = map[string][]string{
	"clock":     {},
	"geo":       {},
	"estimate":  {},
	"report":    {},
	"ax25":      {},
	"aprs":      {"ax25", "geo"},
	"evidence":  {"ax25", "geo", "clock"},
	"intake":    {"aprs", "ax25", "geo", "clock", "evidence"},
	"traffic":   {"aprs", "ax25", "geo", "clock", "evidence"},
	"motion":    {"evidence", "estimate", "geo", "clock"},
	"schedule":  {"motion", "estimate", "geo", "clock"},
	"endurance": {"schedule", "motion", "traffic", "evidence", "estimate", "ax25", "geo", "clock"},
	"draw":      {"endurance", "schedule", "motion", "evidence", "estimate", "clock"},
	"compare":   {"draw", "endurance", "schedule", "motion", "estimate", "clock"},
	"outlook":   {"draw", "endurance", "schedule", "motion", "estimate", "geo", "clock"},
	"bench":     {"draw", "endurance", "traffic", "compare", "intake", "ax25", "estimate", "evidence", "clock"},
	"skew":      {"aprs", "evidence", "estimate", "clock"},
	"sentence":  {"estimate", "clock"},
	"sim":       {"aprs", "ax25", "geo", "clock"},
	"session": {"bench", "compare", "outlook", "report", "intake", "sentence", "skew", "draw", "endurance", "schedule", "motion",
		"traffic", "evidence", "estimate", "aprs", "ax25", "geo", "clock"},
}

// The core knows no host: no wall clock, zone, network, locale, or randomness without a seed. LoadLocation stands once, in
// clock/zone.go, beside the reason why the embedded zones win.
var banned = map[string][]string{
	"time":      {"Now", "Local", "Since", "Until", "Sleep", "After", "Tick", "NewTimer", "NewTicker"},
	"math/rand": {"*"}, "os": {"*"}, "net": {"*"}, "log": {"*"}, "syscall/js": {"*"}, "os/exec": {"*"}, "net/http": {"*"},
	"html/template": {"*"}, "text/template": {"*"}, "unsafe": {"*"},
	"fmt":          {"Print", "Println", "Printf"},
	"slices":       {"SortStableFunc"}, // compiled anew for every type, 9 KB each; sort.SliceStable once
	"math/rand/v2": {"Int", "IntN", "Float64", "NormFloat64", "Perm", "Shuffle", "Uint32", "Uint64", "ExpFloat64"},
}

type source struct {
	room, path string
	file       *ast.File
}

func sources(t *testing.T) []source {
	t.Helper()
	var all []source
	err := filepath.WalkDir(".", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(p, ".go") || strings.HasSuffix(p, "_test.go") {
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), p, nil, parser.SkipObjectResolution)
		all = append(all, source{strings.Split(filepath.ToSlash(p), "/")[0], p, file})
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(all) == 0 {
		t.Fatal("no sources found")
	}
	return all
}

func TestImportsPointDown(t *testing.T) {
	for _, s := range sources(t) {
		allowed, known := below[s.room]
		if !known {
			t.Errorf("%s: room %q has no place in the house", s.path, s.room)
		}
		for _, imp := range s.file.Imports {
			name, ours := strings.CutPrefix(strings.Trim(imp.Path.Value, `"`), "lastbeacon/core/")
			if ours && !slices.Contains(allowed, strings.Split(name, "/")[0]) {
				t.Errorf("%s imports %s, which does not lie below it", s.path, name)
			}
		}
	}
}

func TestNoBannedCalls(t *testing.T) {
	for _, s := range sources(t) {
		names := map[string]string{} // local name -> package path
		for _, imp := range s.file.Imports {
			p := strings.Trim(imp.Path.Value, `"`)
			local := path.Base(p)
			if p == "math/rand/v2" {
				local = "rand"
			}
			if imp.Name != nil {
				local = imp.Name.Name
			}
			names[local] = p
			if slices.Contains(banned[p], "*") {
				t.Errorf("%s imports %s", s.path, p)
			}
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			sel, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			if s.path == "clock/zone.go" && sel.Sel.Name == "LoadLocation" {
				return true
			}
			if x, ok := sel.X.(*ast.Ident); ok && slices.Contains(banned[names[x.Name]], sel.Sel.Name) {
				t.Errorf("%s calls %s.%s", s.path, names[x.Name], sel.Sel.Name)
			}
			return true
		})
	}
}

// time.Unix and time.UnixMilli give a time in the machine's zone: each must be turned to UTC where it stands.
func TestUnixTimesAreUTC(t *testing.T) {
	for _, s := range sources(t) {
		turned := map[ast.Node]bool{}
		ast.Inspect(s.file, func(n ast.Node) bool {
			if sel, ok := n.(*ast.SelectorExpr); ok && (sel.Sel.Name == "UTC" || sel.Sel.Name == "In") {
				turned[sel.X] = true
			}
			call, ok := n.(*ast.CallExpr)
			if !ok || turned[call] {
				return true
			}
			if sel, ok := call.Fun.(*ast.SelectorExpr); ok && strings.HasPrefix(sel.Sel.Name, "Unix") {
				if x, ok := sel.X.(*ast.Ident); ok && x.Name == "time" {
					t.Errorf("%s: time.%s without UTC", s.path, sel.Sel.Name)
				}
			}
			return true
		})
	}
}
