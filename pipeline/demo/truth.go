package demo

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
)

func writeTruth(ctx context.Context, s *Scenario, o Options) error {
	text, err := json.MarshalIndent(map[string]any{"league": s.Name}, "", "  ")
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(o.Dir, "truth.json"), append(text, '\n'), 0o644)
}
