//go:build js

package rank

import (
	"context"
	"errors"
)

// errNotInTheBook is returned where there is no Graphviz to ask.
var errNotInTheBook = errors.New("this layout was not worked out beforehand")

func layers(context.Context, int, []Edge) ([]Place, error) { return nil, errNotInTheBook }
