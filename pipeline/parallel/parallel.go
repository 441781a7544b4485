// Package parallel runs numbered tasks side by side.
package parallel

import (
	"context"

	"golang.org/x/sync/errgroup"
)

// Each runs task for 0 … n−1 on up to so many workers, started in order. worker
// numbers those that run at a time, from 0, so that a task may keep its own part of a
// sum. After a failure no further task starts, but those started end: the error is
// that of the lowest number that fails, whatever the workers, or that of ctx.
func Each(ctx context.Context, workers, n int, task func(worker, i int) error) error {
	workers = max(1, min(workers, n))
	idle := make(chan int, workers)
	for w := range workers {
		idle <- w
	}
	errs := make([]error, n)
	group, running := errgroup.WithContext(ctx)
	for i := range n {
		worker := <-idle
		if running.Err() != nil {
			break
		}
		group.Go(func() error {
			defer func() { idle <- worker }()
			errs[i] = task(worker, i)
			return errs[i]
		})
	}
	failed := group.Wait()
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if failed == nil {
		return nil
	}
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
