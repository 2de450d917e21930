package descent

import (
	"encoding/json"
	"os"
)

// Write writes a model to a file, as JSON that a person can compare.
func Write(file string, model any) error {
	b, err := json.MarshalIndent(model, "", " ")
	if err != nil {
		return err
	}
	return os.WriteFile(file, append(b, '\n'), 0o644)
}
