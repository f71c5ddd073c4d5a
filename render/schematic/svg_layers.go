package schematic

// layer is a group of marks that a style sheet can switch off as one: each is
// a group with the layer's id and the class "layer".
type layer uint8

const (
	layerNone layer = iota
	layerLive
	layerSuspects
	layerColours
	layerVolts
	layerPoints
	layerStanding
	layerBreaks
	layerFault
)

// layerIDs are the groups' ids. To hide one, say
// #layer-volts{display:none} in a style sheet of the page around the drawing.
var layerIDs = map[layer]string{
	layerLive:     "layer-live",
	layerSuspects: "layer-suspects",
	layerColours:  "layer-colours",
	layerVolts:    "layer-volts",
	layerPoints:   "layer-points",
	layerStanding: "layer-standing",
	layerBreaks:   "layer-breaks",
	layerFault:    "layer-fault",
}
