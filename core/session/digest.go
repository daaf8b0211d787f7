package session

import (
	"fmt"
	"math"
	"math/bits"
	"reflect"
)

// A digest tells contents apart in memory; it is never saved. Two hashes of 64 bits side by side take a word in two
// multiplications, where SHA-256 took most of the time of an edit.
type digest [2]uint64

// digestOf digests the numbers that write is called with.
func digestOf(feed func(write func(uint64))) digest {
	d := digest{0xcbf29ce484222325, 0x6c62272e07bb0142}
	feed(d.add)
	d.add(0)
	return d
}

func (d *digest) add(v uint64) {
	a, b := (d[0]^v)*0x9e3779b97f4a7c15, (bits.RotateLeft64(d[1], 23)+v)*0xc2b2ae3d27d4eb4f
	d[0], d[1] = a^a>>32, b^b>>29
}

// both digests two contents in their order.
func both(a, b digest) digest {
	for _, v := range b {
		a.add(v)
	}
	return a
}

// contentOf digests a value by everything in it: the numbers and texts of structs, slices and what pointers point at.
func contentOf(values ...any) digest {
	return digestOf(func(write func(uint64)) {
		for _, v := range values {
			content(reflect.ValueOf(v), write)
		}
	})
}

func content(v reflect.Value, write func(uint64)) {
	switch v.Kind() {
	case reflect.Bool:
		if v.Bool() {
			write(1)
		} else {
			write(2)
		}
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		write(uint64(v.Int()))
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		write(v.Uint())
	case reflect.Float32, reflect.Float64:
		write(math.Float64bits(v.Float()))
	case reflect.String:
		letters(v.String(), write)
	case reflect.Slice, reflect.Array:
		write(uint64(v.Len()))
		for i := range v.Len() {
			content(v.Index(i), write)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			content(v.Field(i), write)
		}
	case reflect.Pointer, reflect.Interface:
		if v.IsNil() {
			write(0)
			return
		}
		write(1)
		content(v.Elem(), write)
	default:
		panic(fmt.Sprintf("a %s has no content to digest", v.Type())) // a map has no order, a function no content
	}
}

// letters feeds a digest with a text.
func letters(text string, write func(uint64)) {
	write(uint64(len(text)))
	for ; len(text) >= 8; text = text[8:] {
		write(uint64(text[0]) | uint64(text[1])<<8 | uint64(text[2])<<16 | uint64(text[3])<<24 |
			uint64(text[4])<<32 | uint64(text[5])<<40 | uint64(text[6])<<48 | uint64(text[7])<<56)
	}
	last := uint64(0)
	for i := range len(text) {
		last = last<<8 | uint64(text[i])
	}
	write(last)
}
