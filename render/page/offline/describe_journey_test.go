package offline_test

import (
	"testing"

	"legtrace/netlists"
)

// A machine is described by thumb on a saved page, with nobody to ask, and gone on
// with.
func TestAMachineIsDescribedOnASavedPage(t *testing.T) {
	html := wholeTool(t)
	b := open(t, write(t, html), "")
	b.Until(`document.querySelector("#to-explore")`)
	b.Thumb("#to-explore")
	b.Until(`document.querySelector("#to-describe")`)
	b.Thumb("#to-describe")
	b.Until(`document.querySelector("#sheet-begin")`)
	b.Describe(b.Thumb)
	text := eval[string](b, `document.querySelector("#sheet-text").value`)
	if _, err := netlists.Read("small-oven.toml", []byte(text)); err != nil {
		t.Errorf("%v\n%s", err, text)
	}
	b.Thumb("#ring summary")
	b.Fill("#ring-begin [name=pins]", "block.N")
	b.Choose("#ring-of", "lamp.1 lamp.2") // pins of a part need not be typed
	b.Thumb("#ring-begin button")
	b.Until(`document.querySelector("#ring-pair").textContent === "block.N  and  Lamp 1"`)
	b.Thumb("#ring-beeps")
	b.Until(`document.querySelector("#ring-found").textContent.includes("–")`)
	b.Thumb("#ring-silent")
	b.Until(`document.querySelector("#ring-pair").textContent === "Nothing is left to touch."`)
	b.Thumb("#sheet-explore")
	b.Until(`document.body.dataset.door === "explore" && document.querySelector("#drawing #part-bake")`)
}
