package core_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"lastbeacon/core/sentence"
)

// Rooms that infer give codes and rooms that word them know every one: a code without a sentence fails here.
func TestEveryCodeHasASentence(t *testing.T) {
	const moment = "4 May 17:42"
	plain := sentence.ScheduleOf(sentence.Schedule{Kind: "undecided", Reason: "?"})
	other := sentence.EndOf(sentence.End{State: "?", LastHeard: moment})
	for _, c := range []struct {
		room, of string
		fewest   int
		words    func(code string) string // "" when there are none
	}{
		{"endurance", "Flag", 20, func(code string) string {
			return sentence.FlagOf(sentence.Flag{Code: code, Number: 2, When: moment})
		}},
		{"endurance", "State", 7, func(code string) string {
			return unless(other, sentence.EndOf(sentence.End{State: code, LastHeard: moment}))
		}},
		{"schedule", "why a schedule is Undecided", 6, func(code string) string {
			return unless(plain, sentence.ScheduleOf(sentence.Schedule{Kind: "undecided", Reason: code}))
		}},
		{"schedule", "Wait", 3, func(code string) string {
			if code == "gaps" {
				return sentence.AlikeOf(sentence.Alike{Waiting: code})
			}
			return unless(sentence.AlikeOf(sentence.Alike{}), sentence.AlikeOf(sentence.Alike{Waiting: code}))
		}},
	} {
		codes := codesIn(t, c.room, c.of)
		if len(codes) < c.fewest {
			t.Errorf("%s: only %v found for %s", c.room, codes, c.of)
		}
		for _, code := range codes {
			text := c.words(code)
			if text == "" || !strings.HasSuffix(text, ".") || strings.Contains(text, code) && strings.Contains(code, ".") {
				t.Errorf("%s: %q is worded %q", c.room, code, text)
			}
		}
	}
}

func unless(plain, text string) string {
	if text == plain {
		return ""
	}
	return text
}

// codesIn lists the string constants of a room whose name begins with of, whose type is of, or whose group's comment tells of it.
func codesIn(t *testing.T, room, of string) []string {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join(room, "*.go"))
	if err != nil || len(paths) == 0 {
		t.Fatalf("%s: %v", room, err)
	}
	var codes []string
	for _, p := range paths {
		source, err := os.ReadFile(p)
		if err != nil {
			t.Fatal(err)
		}
		file, err := parser.ParseFile(token.NewFileSet(), p, source, parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range file.Decls {
			if group, ok := d.(*ast.GenDecl); ok && group.Tok == token.CONST {
				codes = append(codes, codesOf(group, of)...)
			}
		}
	}
	return codes
}

func codesOf(group *ast.GenDecl, of string) (codes []string) {
	told := group.Doc != nil && strings.Contains(strings.ToLower(group.Doc.Text()), strings.ToLower(of)) && strings.Contains(of, " ")
	for _, s := range group.Specs {
		spec := s.(*ast.ValueSpec)
		kind, typed := spec.Type.(*ast.Ident)
		if !told && !strings.HasPrefix(spec.Names[0].Name, of) && !(typed && kind.Name == of) {
			continue
		}
		for _, v := range spec.Values {
			if lit, ok := v.(*ast.BasicLit); ok && lit.Kind == token.STRING {
				code, _ := strconv.Unquote(lit.Value)
				codes = append(codes, code)
			}
		}
	}
	return codes
}
