package report

import (
	"encoding/json"
	"fmt"
	"math"
	"reflect"
)

// Digits is how many significant digits a reported number keeps.
const Digits = 6

// JSON writes v after rounding every number once. A NaN or an infinity behind a pointer becomes null; elsewhere it is an error,
// since a claimed number must be a number. Nil slices become empty ones.
func JSON(v any) ([]byte, error) {
	if err := tidy(reflect.ValueOf(v)); err != nil {
		return nil, fmt.Errorf("report%w", err)
	}
	return json.Marshal(v)
}

func tidy(v reflect.Value) error {
	switch v.Kind() {
	case reflect.Pointer:
		return tidyPointer(v)
	case reflect.Struct:
		for i := range v.NumField() {
			if err := tidy(v.Field(i)); err != nil {
				return fmt.Errorf(".%s%w", v.Type().Field(i).Name, err)
			}
		}
	case reflect.Slice:
		if v.IsNil() && v.CanSet() {
			v.Set(reflect.MakeSlice(v.Type(), 0, 0))
		}
		return tidyItems(v)
	case reflect.Array:
		return tidyItems(v)
	case reflect.Float64:
		if !finite(v.Float()) {
			return fmt.Errorf(" is %v", v.Float())
		}
		v.SetFloat(Round(v.Float(), Digits))
	}
	return nil
}

func finite(f float64) bool { return !math.IsNaN(f) && !math.IsInf(f, 0) }

func tidyPointer(v reflect.Value) error {
	if v.IsNil() {
		return nil
	}
	if e := v.Elem(); e.Kind() == reflect.Float64 && !finite(e.Float()) {
		v.Set(reflect.Zero(v.Type()))
		return nil
	}
	return tidy(v.Elem())
}

func tidyItems(v reflect.Value) error {
	for i := range v.Len() {
		if err := tidy(v.Index(i)); err != nil {
			return fmt.Errorf("[%d]%w", i, err)
		}
	}
	return nil
}

// Round gives v with the stated number of significant digits, half away from zero; 0 stays 0.
func Round(v float64, digits int) float64 {
	if v == 0 {
		return 0
	}
	exponent := int(math.Floor(math.Log10(math.Abs(v)))) + 1 - digits
	if exponent >= 0 {
		unit := math.Pow10(exponent)
		return math.Round(v/unit) * unit
	}
	scale := math.Pow10(-exponent)
	if math.IsInf(scale, 0) {
		return 0
	}
	return math.Round(v*scale) / scale
}
