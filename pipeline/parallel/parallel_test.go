package parallel

import (
	"context"
	"errors"
	"fmt"
	"sync/atomic"
	"testing"
	"time"
)

// TestEach: every task runs once, no more than the workers at a time, and no two of
// one worker together.
func TestEach(t *testing.T) {
	for _, workers := range []int{-1, 1, 3, 100} {
		var busy [100]atomic.Bool
		var ran [40]atomic.Int32
		var running, most atomic.Int32
		err := Each(t.Context(), workers, len(ran), func(w, i int) error {
			if !busy[w].CompareAndSwap(false, true) {
				return fmt.Errorf("worker %d runs two tasks", w)
			}
			now := running.Add(1)
			for before := most.Load(); now > before && !most.CompareAndSwap(before, now); before = most.Load() {
			}
			time.Sleep(time.Duration(i%3) * time.Millisecond)
			ran[i].Add(1)
			running.Add(-1)
			busy[w].Store(false)
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		for i := range ran {
			if n := ran[i].Load(); n != 1 {
				t.Errorf("%d workers: task %d ran %d times", workers, i, n)
			}
		}
		if n := int(most.Load()); n > max(1, workers) {
			t.Errorf("%d workers: %d tasks at a time", workers, n)
		}
	}
	if err := Each(t.Context(), 2, 0, nil); err != nil {
		t.Errorf("no task: %v", err)
	}
}

// TestEachFails: the error is that of the lowest number, however late it comes, and
// nothing starts after a failure.
func TestEachFails(t *testing.T) {
	first := errors.New("the first")
	var started atomic.Int32
	err := Each(t.Context(), 4, 1000, func(_, i int) error {
		started.Add(1)
		switch i {
		case 5:
			time.Sleep(30 * time.Millisecond)
			return first
		case 7:
			return errors.New("the second")
		}
		time.Sleep(time.Millisecond)
		return nil
	})
	if !errors.Is(err, first) || started.Load() > 20 {
		t.Errorf("%v after %d tasks", err, started.Load())
	}
	ctx, cancel := context.WithCancel(t.Context())
	started.Store(0)
	err = Each(ctx, 2, 1000, func(_, i int) error {
		started.Add(1)
		cancel()
		return nil
	})
	if !errors.Is(err, context.Canceled) || started.Load() > 3 {
		t.Errorf("cancelled: %v after %d tasks", err, started.Load())
	}
}
