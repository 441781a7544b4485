package ingest

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"
)

// workers returns the number of goroutines to use.
func (o Options) workers() int {
	if o.Workers > 0 {
		return o.Workers
	}
	return runtime.GOMAXPROCS(0)
}

// forEach runs do for 0 … n−1 in order of start. After a failure no further
// task starts, but those started end, so that the error returned is that of
// the lowest failing index whatever the number of workers.
func forEach(ctx context.Context, workers, n int, do func(worker, i int) error) error {
	var next atomic.Int64
	var failed atomic.Bool
	errs := make([]error, n)
	var wg sync.WaitGroup
	for w := range min(workers, n) {
		wg.Go(func() {
			for !failed.Load() && ctx.Err() == nil {
				i := int(next.Add(1) - 1)
				if i >= n {
					return
				}
				if errs[i] = do(w, i); errs[i] != nil {
					failed.Store(true)
				}
			}
		})
	}
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return err
	}
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
