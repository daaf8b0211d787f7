package main

import (
	"errors"
	"fmt"
	"io"
	"runtime/debug"

	"lastbeacon/core/session"
)

var errCancelled = errors.New("reading was cancelled")

// A feed lets the host push chunks into a reader that pulls. The reader runs as a goroutine; push hands one chunk over and
// returns when the reader asks for more or is done, so that nothing ever waits for the host.
type feed struct {
	job    *session.Job
	chunks chan []byte
	want   chan struct{}
	done   chan struct{}
	rest   []byte
	ended  bool  // no chunk will come any more
	stop   error // what Read gives then; nil means io.EOF
	fault  error // what the reader ended with
}

func start(job *session.Job) *feed {
	f := &feed{job: job, chunks: make(chan []byte), want: make(chan struct{}), done: make(chan struct{})}
	go f.run()
	f.wait()
	return f
}

func (f *feed) run() {
	defer close(f.done)
	defer func() {
		if p := recover(); p != nil {
			f.fault = fmt.Errorf("the engine stopped while reading: %v\n%s", p, debug.Stack())
		}
	}()
	f.fault = f.job.Run(f)
}

// Read gives the reader the chunk at hand; the host's buffer stays untouched until the whole chunk is taken.
func (f *feed) Read(p []byte) (int, error) {
	if len(f.rest) == 0 && !f.ended {
		f.want <- struct{}{}
		chunk, open := <-f.chunks
		f.rest, f.ended = chunk, !open
	}
	if f.ended {
		if f.stop != nil {
			return 0, f.stop
		}
		return 0, io.EOF
	}
	n := copy(p, f.rest)
	f.rest = f.rest[n:]
	return n, nil
}

func (f *feed) wait() {
	select {
	case <-f.want:
	case <-f.done:
	}
}

// push hands one chunk over. A reader that ended early (a broken file) takes no more; its fault comes at the end.
func (f *feed) push(chunk []byte) error {
	if len(chunk) == 0 {
		return nil
	}
	select {
	case <-f.done:
		return f.fault
	case f.chunks <- chunk:
		f.wait()
	}
	return nil
}

func (f *feed) end(stop error) error {
	f.stop = stop
	select {
	case <-f.done:
	default:
		close(f.chunks)
		<-f.done
	}
	return f.fault
}
