package gitstore

import (
	"context"
	"io"
)

// live is a session of go-git's, which only one goroutine may touch at a time, to close it too.
type live struct {
	session io.Closer
	left    bool // to a goroutine that is still in it, and closes it once it is out
}

func (l *live) close() {
	if !l.left {
		l.session.Close()
	}
}

// patiently runs f, which may not heed ctx, and leaves it behind when ctx ends: with the session that f is in, if it is in one. What f opened too late is
// closed.
func patiently[T any](ctx context.Context, in *live, f func() (T, error)) (T, error) {
	type result struct {
		v   T
		err error
	}
	done := make(chan result, 1)
	go func() {
		v, err := f()
		done <- result{v, err}
	}()
	select {
	case r := <-done:
		return r.v, r.err
	case <-ctx.Done():
		if in != nil {
			in.left = true
		}
		go func() {
			r := <-done
			if c, ok := any(r.v).(io.Closer); ok && r.err == nil {
				c.Close()
			}
			if in != nil {
				in.session.Close()
			}
		}()
		var zero T
		return zero, ctx.Err()
	}
}
