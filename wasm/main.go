// The engine: a few exports over core/session for any host that runs WebAssembly. No logic lives here.
//
// The host writes a request into the buffer that room gives, calls an operation, and reads the answer at answer(). A call
// returns the length of the answer, or ^length of a message when it failed. Nothing inside a call waits for the host.
package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"runtime"
	"runtime/debug"
	"slices"
	"unsafe"

	"lastbeacon/core/session"
)

// Version is set by the linker.
var Version = "dev"

// Package variables keep alive what the host points at.
var (
	in, out []byte
	house   *session.Session
	left    *session.Session // the house while another session stands in its place, else nil
	reading *feed
)

func main() {
	house = session.New(Version)
	select {}
}

//go:wasmexport room
func room(n int32) unsafe.Pointer {
	in = slices.Grow(in[:0], int(n))[:n]
	return unsafe.Pointer(unsafe.SliceData(in))
}

//go:wasmexport answer
func answer() unsafe.Pointer { return unsafe.Pointer(unsafe.SliceData(out)) }

//go:wasmexport call
func call(op, n int32) (size int32) {
	defer func() {
		if fault := recover(); fault != nil {
			size = fail(fmt.Errorf("the engine stopped at operation %d: %v\n%s", op, fault, debug.Stack()))
		}
	}()
	reply, err := serve(op, in[:n])
	if err != nil {
		return fail(err)
	}
	out = reply
	return int32(len(out))
}

func fail(err error) int32 {
	out = []byte(err.Error())
	return ^int32(len(out))
}

// Operations of call; the engine's TypeScript side has the same list.
const (
	opVersion = iota + 1
	opOpen
	opPush
	opClose
	opCancel
	opForget
	opAnalyse
	opLanes
	opPackets
	opExport
	opPrepare
	opAside
	opCounts
	opCollect
)

func serve(op int32, request []byte) ([]byte, error) {
	switch op {
	case opVersion:
		return []byte(`{"version":"` + Version + `"}`), nil // the first use of encoding/json would hold up the start
	case opOpen:
		return nil, open(request)
	case opPush:
		return push(request)
	case opClose:
		return finish(string(request))
	case opCancel:
		return nil, cancel()
	case opForget:
		return nil, forget(request)
	case opAnalyse:
		return house.Analyse(request)
	case opLanes:
		return house.Lanes()
	case opPackets:
		return house.Packets(request)
	case opExport:
		return house.Export(string(request))
	case opPrepare:
		return nil, house.Prepare(request)
	case opAside:
		return nil, aside()
	case opCounts:
		return house.Counts(request)
	case opCollect:
		collect()
		return nil, nil
	}
	return nil, fmt.Errorf("operation %d is not one of this engine's", op)
}

// collect has garbage collected, once so much has gathered that one or two more edits would have to do it.
func collect() {
	var now runtime.MemStats
	if runtime.ReadMemStats(&now); now.HeapAlloc > now.NextGC/3*2 {
		runtime.GC()
	}
}

func open(request []byte) error {
	if reading != nil {
		return errors.New("a file is still being read")
	}
	job, err := house.Open(request)
	if err != nil {
		return err
	}
	reading = start(job)
	return nil
}

func push(chunk []byte) ([]byte, error) {
	if reading == nil {
		return nil, errors.New("no file is open")
	}
	if err := reading.push(chunk); err != nil {
		reading = nil
		return nil, err
	}
	return reading.job.Drain()
}

func finish(digest string) ([]byte, error) {
	if reading == nil {
		return nil, errors.New("no file is open")
	}
	f := reading
	reading = nil
	if err := f.end(nil); err != nil {
		return nil, err
	}
	return f.job.Close(digest)
}

func cancel() error {
	if reading == nil {
		return nil
	}
	f := reading
	reading = nil
	_ = f.end(errCancelled)
	return nil
}

func forget(request []byte) error {
	var which struct{ ID int }
	if err := json.Unmarshal(request, &which); err != nil {
		return err
	}
	house.Forget(which.ID)
	return nil
}

// aside puts an empty session into the place of the house, and when called again the house back: what is asked in between
// leaves nothing behind.
func aside() error {
	if reading != nil {
		return errors.New("a file is still being read")
	}
	if left != nil {
		house, left = left, nil
		return nil
	}
	left, house = house, session.New(Version)
	return nil
}
