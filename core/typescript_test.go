package core_test

import (
	"bytes"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite the generated and golden files")

// The page's types are generated from the Go structs; a stale file fails here. Maps, interfaces and unknown types have no
// place in the answer, so the generator refuses them.
func TestGeneratedTypes(t *testing.T) {
	for _, c := range []struct {
		from, to string
		write    func(*bytes.Buffer, *ast.TypeSpec, map[string]bool) error
	}{
		{"report/report.go", "../web/report.gen.ts", nil},
		{"bench/bench.go", "../web/bench.gen.ts", writeShape},
	} {
		want, err := typescript(c.from, c.write)
		if err != nil {
			t.Fatal(err)
		}
		if *update {
			if err := os.WriteFile(c.to, want, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		got, err := os.ReadFile(c.to)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s is stale: run make types", c.to)
		}
	}
}

// typescript gives the interfaces of a file's structs and, when shape is given, what a reader of such files checks them by.
func typescript(path string, shape func(*bytes.Buffer, *ast.TypeSpec, map[string]bool) error) ([]byte, error) {
	file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ParseComments)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	fmt.Fprintf(&out, "// Generated from core/%s/%s by make types. Do not edit.\n", file.Name.Name, filepath.Base(path))
	known := map[string]bool{}
	for _, spec := range structs(file) {
		known[spec.Name.Name] = true
	}
	for _, spec := range structs(file) {
		if err := writeInterface(&out, spec, known); err != nil {
			return nil, err
		}
	}
	if shape == nil {
		return out.Bytes(), nil
	}
	out.WriteString("\n/** What each object may hold, for checking files from outside: the kind of every property; ? may be left out. */\n" +
		"export const shapes: Readonly<Record<string, Readonly<Record<string, string>>>> = {\n")
	for _, spec := range structs(file) {
		if err := shape(&out, spec, known); err != nil {
			return nil, err
		}
	}
	out.WriteString("}\n")
	return out.Bytes(), nil
}

func structs(file *ast.File) []*ast.TypeSpec {
	var found []*ast.TypeSpec
	ast.Inspect(file, func(n ast.Node) bool {
		if spec, ok := n.(*ast.TypeSpec); ok {
			if _, ok := spec.Type.(*ast.StructType); ok && spec.Name.IsExported() {
				found = append(found, spec)
			}
		}
		return true
	})
	return found
}

func writeInterface(out *bytes.Buffer, spec *ast.TypeSpec, known map[string]bool) error {
	fmt.Fprintf(out, "\nexport interface %s {\n", spec.Name.Name)
	for _, field := range spec.Type.(*ast.StructType).Fields.List {
		if field.Tag == nil {
			return fmt.Errorf("%s: a field without a tag", spec.Name.Name)
		}
		tag := reflect.StructTag(strings.Trim(field.Tag.Value, "`")).Get("json")
		name, options, _ := strings.Cut(tag, ",")
		kind, err := typeName(field.Type, known)
		if err != nil {
			return fmt.Errorf("%s.%s: %w", spec.Name.Name, name, err)
		}
		optional := ""
		if strings.Contains(options, "omitempty") {
			optional = "?"
		}
		fmt.Fprintf(out, "  %s%s: %s\n", name, optional, kind)
	}
	out.WriteString("}\n")
	return nil
}

// writeShape writes one struct as names and kinds: "string", "number?", "Unit[]?"; a question mark: may be left out.
func writeShape(out *bytes.Buffer, spec *ast.TypeSpec, known map[string]bool) error {
	var properties []string
	for _, field := range spec.Type.(*ast.StructType).Fields.List {
		name, options, _ := strings.Cut(reflect.StructTag(strings.Trim(field.Tag.Value, "`")).Get("json"), ",")
		kind, err := typeName(field.Type, known)
		if err != nil {
			return err
		}
		kind, nullable := strings.CutSuffix(kind, " | null")
		if nullable || options == "omitempty" {
			kind += "?"
		}
		properties = append(properties, fmt.Sprintf("%s: %q", name, kind))
	}
	fmt.Fprintf(out, "  %s: { %s },\n", spec.Name.Name, strings.Join(properties, ", "))
	return nil
}

func typeName(x ast.Expr, known map[string]bool) (string, error) {
	switch x := x.(type) {
	case *ast.StarExpr:
		inner, err := typeName(x.X, known)
		return inner + " | null", err
	case *ast.ArrayType:
		inner, err := typeName(x.Elt, known)
		if strings.Contains(inner, "|") {
			inner = "(" + inner + ")"
		}
		if length, ok := x.Len.(*ast.BasicLit); ok && length.Value == "2" {
			return fmt.Sprintf("[%s, %s]", inner, inner), err
		}
		return inner + "[]", err
	case *ast.Ident:
		switch x.Name {
		case "string":
			return "string", nil
		case "bool":
			return "boolean", nil
		case "int", "int64", "float64":
			return "number", nil
		}
		if known[x.Name] {
			return x.Name, nil
		}
	}
	return "", fmt.Errorf("no TypeScript for %T", x)
}
