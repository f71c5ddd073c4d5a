package parcel

import (
	"encoding/json"
	"testing"
)

// A parcel without a machine is known without being read.
func TestAChoiceIsKnown(t *testing.T) {
	if text, err := json.Marshal(New(nil, nil, "", false)); err != nil || string(text) != choice {
		t.Errorf("it is %s, %v", text, err)
	}
}
