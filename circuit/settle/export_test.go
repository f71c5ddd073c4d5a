package settle

import "legtrace/circuit"

// NewForgetful makes an engine that solves every state anew.
func NewForgetful(c *circuit.Circuit) *Engine {
	e := New(c)
	e.most = 0
	return e
}
