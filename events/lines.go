package events

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"iter"
)

// LineError is a line that is no event. The reader goes on after it, so that
// one bad line does not hide the good ones behind it.
type LineError struct {
	Line int // counted from 1
	Err  error
}

func (e *LineError) Error() string { return fmt.Sprintf("line %d: %v", e.Line, e.Err) }
func (e *LineError) Unwrap() error { return e.Err }

// ReadLines yields the events of a .jsonl stream in the order they stand.
// Empty lines are passed over. A bad line yields a [*LineError] and the reading
// goes on; any other error ends it.
func ReadLines(r io.Reader) iter.Seq2[Event, error] {
	return func(yield func(Event, error) bool) {
		in := bufio.NewReaderSize(r, 1<<20)
		for n := 1; ; n++ {
			line, tooLong, err := readLine(in)
			if err != nil && !errors.Is(err, io.EOF) {
				yield(Event{}, fmt.Errorf("read line %d: %w", n, err))
				return
			}
			if !yieldLine(yield, n, line, tooLong) || err != nil {
				return
			}
		}
	}
}

func yieldLine(yield func(Event, error) bool, n int, line []byte, tooLong bool) bool {
	if tooLong {
		return yield(Event{}, &LineError{n, fmt.Errorf("%w: longer than %d bytes", ErrNotAnEvent, MaxBytes)})
	}
	if line = bytes.TrimSpace(line); len(line) == 0 {
		return true
	}
	e, err := Decode(line)
	if err != nil {
		return yield(Event{}, &LineError{n, err})
	}
	return yield(e, nil)
}

// readLine reads to the next newline and throws away what is beyond the
// longest event, so that a file without newlines cannot fill the memory.
func readLine(in *bufio.Reader) (line []byte, tooLong bool, err error) {
	line, err = in.ReadSlice('\n')
	for errors.Is(err, bufio.ErrBufferFull) {
		tooLong = true
		_, err = in.ReadSlice('\n')
	}
	return line, tooLong || len(line) > MaxBytes+2, err
}
