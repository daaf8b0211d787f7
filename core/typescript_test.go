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
	for _, c := range []struct{ from, to string }{
		{"report/report.go", "../web/report.gen.ts"},
		{"bench/bench.go", "../web/bench.gen.ts"},
	} {
		want, err := typescript(c.from)
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

// typescript gives the interfaces of a file's structs, and what a reader of such files checks them by.
func typescript(path string) ([]byte, error) {
	file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ParseComments)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	fmt.Fprintf(&out, "// Generated from core/%s/%s by make types. Do not edit.\n", file.Name.Name, filepath.Base(path))
	known := map[string]*ast.StructType{}
	for _, spec := range structs(file) {
		known[spec.Name.Name] = spec.Type.(*ast.StructType)
	}
	for _, spec := range structs(file) {
		if err := writeInterface(&out, spec, known); err != nil {
			return nil, err
		}
	}
	out.WriteString("\n/** What each object may hold, for checking files from outside: the kind of every property; ? may be left out, ~ may be null. */\n" +
		"export const shapes: Readonly<Record<string, Readonly<Record<string, string>>>> = {\n")
	for _, spec := range structs(file) {
		if err := writeShape(&out, spec, known); err != nil {
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

// fieldsOf lists the fields of a struct, with those of the structs that are part of it.
func fieldsOf(s *ast.StructType, known map[string]*ast.StructType) []*ast.Field {
	var fields []*ast.Field
	for _, field := range s.Fields.List {
		part, _ := field.Type.(*ast.Ident)
		if len(field.Names) > 0 || part == nil || known[part.Name] == nil {
			fields = append(fields, field)
			continue
		}
		fields = append(fields, fieldsOf(known[part.Name], known)...)
	}
	return fields
}

func writeInterface(out *bytes.Buffer, spec *ast.TypeSpec, known map[string]*ast.StructType) error {
	fmt.Fprintf(out, "\nexport interface %s {\n", spec.Name.Name)
	for _, field := range fieldsOf(known[spec.Name.Name], known) {
		if field.Tag == nil {
			return fmt.Errorf("%s: a field without a tag", spec.Name.Name)
		}
		tag := reflect.StructTag(strings.Trim(field.Tag.Value, "`")).Get("json")
		name, options, _ := strings.Cut(tag, ",")
		kind, err := typeName(field.Type, known, types)
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

// writeShape writes one struct as names and kinds: "string", "number?", "Unit[]?", "Estimate~"; a question mark: may be left out, a
// tilde: may be null. A list of two is written as a list.
func writeShape(out *bytes.Buffer, spec *ast.TypeSpec, known map[string]*ast.StructType) error {
	var properties []string
	for _, field := range fieldsOf(known[spec.Name.Name], known) {
		name, options, _ := strings.Cut(reflect.StructTag(strings.Trim(field.Tag.Value, "`")).Get("json"), ",")
		kind, err := typeName(field.Type, known, kinds)
		if err != nil {
			return err
		}
		if first, pair := strings.CutPrefix(kind, "["); pair {
			first, _, _ = strings.Cut(first, ",")
			kind = first + "[]"
		}
		kind = strings.ReplaceAll(kind, " | null", "~")
		if options == "omitempty" {
			kind = strings.TrimSuffix(kind, "~") + "?"
		}
		properties = append(properties, fmt.Sprintf("%s: %q", name, kind))
	}
	fmt.Fprintf(out, "  %s: { %s },\n", spec.Name.Name, strings.Join(properties, ", "))
	return nil
}

// types gives TypeScript's names of Go's types; kinds those by which a file from outside is checked.
var (
	types = map[string]string{"string": "string", "Time": "string", "bool": "boolean", "int": "number", "int64": "number", "float64": "number", "Instant": "number"}
	kinds = map[string]string{"string": "string", "Time": "time", "bool": "boolean", "int": "number", "int64": "number", "float64": "number", "Instant": "instant"}
)

func typeName(x ast.Expr, known map[string]*ast.StructType, names map[string]string) (string, error) {
	switch x := x.(type) {
	case *ast.StarExpr:
		inner, err := typeName(x.X, known, names)
		return inner + " | null", err
	case *ast.ArrayType:
		inner, err := typeName(x.Elt, known, names)
		if strings.Contains(inner, "|") {
			inner = "(" + inner + ")"
		}
		if length, ok := x.Len.(*ast.BasicLit); ok && length.Value == "2" {
			return fmt.Sprintf("[%s, %s]", inner, inner), err
		}
		return inner + "[]", err
	case *ast.Ident:
		if name := names[x.Name]; name != "" {
			return name, nil
		}
		if known[x.Name] != nil {
			return x.Name, nil
		}
	}
	return "", fmt.Errorf("no TypeScript for %T", x)
}
