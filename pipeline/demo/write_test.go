package demo

import (
	"context"
	"testing"
)

func TestWriteSketch(t *testing.T) {
	o := DefaultOptions()
	o.Dir = t.TempDir()
	sum, err := Write(context.Background(), o)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%+v", sum)
}
