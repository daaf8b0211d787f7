package bench

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"strings"
)

// Explain words what the decoder found in a file: the field, what stands there, what is wanted, and the line.
func Explain(what string, data []byte, err error) error {
	var wrong *json.UnmarshalTypeError
	if errors.As(err, &wrong) {
		at := what
		walk(data, func(path string, end int64) bool {
			if path != "" {
				at = path
			}
			return end < wrong.Offset
		})
		return fmt.Errorf("%s: found %s, %s is wanted%s", at, foundName(wrong.Value), wantedName(wrong), lineAt(data, wrong.Offset))
	}
	end := int64(len(data))
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) {
		end = syntax.Offset
	}
	return fmt.Errorf("%s is not JSON: %w%s", what, err, lineAt(data, end))
}

func foundName(value string) string {
	switch kind, number, _ := strings.Cut(value, " "); kind {
	case "string":
		return "a text"
	case "bool":
		return "true or false"
	case "array":
		return "a list"
	case "object":
		return "an object"
	case "number":
		if number != "" {
			return number
		}
	}
	return "a number"
}

func wantedName(wrong *json.UnmarshalTypeError) string {
	switch wrong.Type.Kind() {
	case reflect.String:
		return "a text"
	case reflect.Bool:
		return "true or false"
	case reflect.Slice:
		return "a list"
	case reflect.Struct:
		return "an object"
	case reflect.Int, reflect.Int32, reflect.Int64:
		return "a whole number"
	}
	if strings.HasPrefix(wrong.Value, "number ") {
		return "a number below 1e308"
	}
	return "a number"
}

// lineAt says on which line a place of the file stands; nothing where all stands on one line.
func lineAt(data []byte, offset int64) string {
	if bytes.IndexByte(bytes.TrimSpace(data), '\n') < 0 {
		return ""
	}
	return fmt.Sprintf(" (line %d)", 1+bytes.Count(data[:min(max(offset, 0), int64(len(data)))], []byte{'\n'}))
}

// lineOf says on which line a field stands, or what it would stand in where it is missing.
func lineOf(data []byte, field string) string {
	at := int64(0)
	walk(data, func(path string, end int64) bool {
		if path == field || path == "" || strings.HasPrefix(field, path) && strings.IndexByte(".[", field[len(path)]) >= 0 {
			at = end
		}
		return path != field
	})
	return lineAt(data, at)
}

// walk visits the values of a JSON text in their order, each with its path, such as units[0].name, and where its first token
// ends, until visit says no.
func walk(data []byte, visit func(path string, end int64) bool) {
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.UseNumber()
	walkValue(dec, "", visit)
}

func walkValue(dec *json.Decoder, path string, visit func(path string, end int64) bool) bool {
	token, err := dec.Token()
	if err != nil || !visit(path, dec.InputOffset()) {
		return false
	}
	for n := 0; (token == json.Delim('{') || token == json.Delim('[')) && dec.More(); n++ {
		inner := fmt.Sprintf("%s[%d]", path, n)
		if token == json.Delim('{') {
			name, err := dec.Token()
			if err != nil {
				return false
			}
			inner = strings.TrimPrefix(fmt.Sprintf("%s.%s", path, name), ".")
		}
		if !walkValue(dec, inner, visit) {
			return false
		}
	}
	if _, isDelim := token.(json.Delim); isDelim {
		_, err = dec.Token()
	}
	return err == nil
}
