package netlists

import (
	"bytes"
	"encoding/json"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
)

// TestTheSchemaIsFresh compares the schema shipped with what the types, the
// table of kinds and FORMAT.md say; go test ./netlists -update writes it anew.
func TestTheSchemaIsFresh(t *testing.T) {
	var fresh bytes.Buffer
	enc := json.NewEncoder(&fresh)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(makeSchema(t)); err != nil {
		t.Fatal(err)
	}
	if *update {
		if err := os.WriteFile(SchemaFile, fresh.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := cmp.Diff(fresh.String(), string(Schema())); diff != "" {
		t.Errorf("-fresh +shipped:\n%s", diff)
	}
}

// object is a piece of a schema.
type object = map[string]any

const (
	namePattern   = `^[A-Za-z0-9_-]{1,64}$`
	colourPattern = `^(GNYE|(BK|BN|RD|OG|YE|GN|BU|VT|GY|WH|PK|GD|TQ|SR){1,2})$`
)

// limits lists what the types do not say of a key, by "Type.key".
var limits = map[string]object{
	"SupplySpec.residual_amps": {"minimum": 0, "maximum": 100},

	"Spec.name":              {"pattern": namePattern},
	"Spec.priors":            {"additionalProperties": object{"type": "number", "minimum": 0, "maximum": 1e6}},
	"Spec.words":             {"additionalProperties": object{"type": "array", "items": object{"type": "string", "maxLength": 100}}},
	"Spec.phrases":           {"additionalProperties": object{"type": "object", "additionalProperties": object{"type": "array", "items": object{"type": "string", "maxLength": 100}}}},
	"Spec.tales":             {"additionalProperties": object{"type": "object", "additionalProperties": object{"type": "number", "exclusiveMinimum": 0, "maximum": 1}}},
	"Spec.sizes":             {"additionalProperties": object{"type": "array", "minItems": 1, "maxItems": 8, "items": object{"type": "array", "minItems": 3, "maxItems": 3, "items": object{"type": "number", "minimum": 0}}}},
	"Spec.mistakes":          {"additionalProperties": object{"type": "number", "minimum": 1e-6, "maximum": 0.9}},
	"SupplySpec.system":      {"enum": []string{"split-phase", "wye", "single-phase", "star", "delta"}},
	"SupplySpec.volts":       {"minimum": 0, "maximum": 1000},
	"SupplySpec.wires":       {"enum": []int{2, 3, 4, 5}},
	"SupplySpec.hertz":       {"minimum": 0, "maximum": 1000},
	"SupplySpec.source_ohms": {"minimum": 0, "maximum": 1000},
	"SupplySpec.feeder_ohms": {"minimum": 0, "maximum": 1000},
	"PartSpec.power_factor":  {"maximum": 1},
	"PartSpec.pickup":        {"maximum": 1},
	"PartSpec.dropout":       {"maximum": 1},
	"PartSpec.curve":         {"enum": []string{"pt3850", "pt3750", "ntc"}},
	"PartSpec.contact":       {"enum": []string{"no", "nc", "changeover"}},
	"PartSpec.contacts":      {"minProperties": 1, "maxProperties": circuit.MaxPoles, "propertyNames": object{"pattern": namePattern}, "additionalProperties": object{"enum": []string{"no", "nc", "changeover"}}},
	"PartSpec.poles":         {"maxItems": circuit.MaxPoles, "uniqueItems": true, "items": object{"type": "string", "pattern": namePattern}},
	"PartSpec.positions":     {"minItems": 2, "maxItems": circuit.MaxPoles, "uniqueItems": true, "items": object{"type": "string", "pattern": namePattern}},
	"PartSpec.chart":         {"additionalProperties": object{"type": "array", "items": object{"type": "array", "minItems": 2, "items": object{"type": "string"}}}},
	"SenseSpec.name":         {"pattern": namePattern},
	"SenseSpec.pins":         {"minItems": 2, "maxItems": 2, "uniqueItems": true},
	"SenseSpec.min_ohms":     {"minimum": 0},
	"SenseSpec.max_ohms":     {"exclusiveMinimum": 0, "maximum": 1e7},
	"CodeSpec.code":          {"minLength": 1},
	"CodeSpec.means":         {"minLength": 1},
	"CodeSpec.above":         {"minimum": 0, "maximum": 1e7},
	"CodeSpec.below":         {"minimum": 0, "maximum": 1e7},
	"ModeSpec.reached":       {"enum": []string{"hand", "wait", "heat", "cool", "chance"}},
	"ModeSpec.minutes":       {"minimum": 0, "maximum": 1000},
	"PanelSpec.minutes":      {"minimum": 0, "maximum": 1000},
	"PanelSpec.close":        {"minimum": 0, "maximum": 1000},
	"PlaceSpec.x":            {"minimum": 0, "maximum": 100},
	"PlaceSpec.y":            {"minimum": 0, "maximum": 100},
	"PlaceSpec.w":            {"exclusiveMinimum": 0, "maximum": 100},
	"PlaceSpec.h":            {"exclusiveMinimum": 0, "maximum": 100},
	"ModeSpec.duty":          {"additionalProperties": object{"type": "number", "minimum": 0, "maximum": 1}},
	"BodySpec.capacity":      {"exclusiveMinimum": 0},
	"BodySpec.loss":          {"minimum": 0},
	"BodySpec.fan_loss":      {"minimum": 0},
	"BodySpec.heats":         {"additionalProperties": object{"type": "number", "minimum": 0, "maximum": 1}},
	"WireSpec.name":          {"pattern": namePattern},
	"WireSpec.colour":        {"pattern": colourPattern},
	"WireSpec.awg":           {"minimum": 1, "maximum": 40},
	"WireSpec.mm2":           {"minimum": 0.05, "maximum": 500},
	"WireSpec.metres":        {"minimum": 0.001, "maximum": 1000},
	"ModeSpec.share":         {"additionalProperties": object{"type": "number", "minimum": 0, "maximum": 4}},
	"PointSpec.minutes":      {"minimum": 0, "maximum": 1000},
	"PointSpec.power":        {"enum": []string{"off", "live", "either"}},
	"dropSpec.parts":         {"uniqueItems": true},
	"dropSpec.wires":         {"uniqueItems": true},
	"dropSpec.modes":         {"uniqueItems": true},
	"dropSpec.points":        {"uniqueItems": true},
	"PartSpec.driven_by":     {"pattern": namePattern},
}

type schemaMaker struct {
	t      *testing.T
	format string
}

func makeSchema(t *testing.T) object {
	m := schemaMaker{t: t, format: readFormat(t)}
	root := m.structure(reflect.TypeFor[circuit.Spec](), "## The file", nil)
	properties := root["properties"].(object)
	said := m.said("## The file")
	properties["supply"] = object{"$ref": "#/$defs/supply", "description": said["supply"]}
	properties["parts"] = object{"type": "object", "description": said["parts"], "propertyNames": object{"pattern": namePattern, "not": object{"enum": []string{circuit.SupplyName, circuit.ChassisName}}}, "additionalProperties": object{"$ref": "#/$defs/part"}}
	properties["modes"] = object{"type": "object", "description": said["modes"], "propertyNames": object{"pattern": namePattern}, "additionalProperties": object{"$ref": "#/$defs/mode"}}
	properties["points"] = object{"type": "object", "description": said["points"], "propertyNames": object{"pattern": namePattern}, "additionalProperties": object{"$ref": "#/$defs/point"}}
	properties["panels"] = object{"type": "object", "description": said["panels"], "propertyNames": object{"pattern": namePattern}, "additionalProperties": object{"$ref": "#/$defs/panel"}}
	properties["places"] = object{"type": "object", "description": said["places"], "propertyNames": object{"minLength": 1}, "additionalProperties": object{"$ref": "#/$defs/place"}}
	properties["bodies"] = object{"type": "object", "description": said["bodies"], "propertyNames": object{"pattern": namePattern}, "additionalProperties": object{"$ref": "#/$defs/body"}}
	properties["wires"] = object{"description": said["wires"],
		"if":   object{"type": "array"},
		"then": object{"items": object{"$ref": "#/$defs/wire"}},
		"else": object{"type": "object", "propertyNames": object{"pattern": namePattern},
			"additionalProperties": object{"$ref": "#/$defs/wire", "properties": object{"name": false}}}}
	properties["from"] = object{"type": "string", "minLength": 1, "description": said["from"]}
	properties["drop"] = object{"$ref": "#/$defs/drop", "description": said["drop"]}
	kinds, needs := m.kinds()
	root["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	root["$id"] = "urn:legtrace:netlist"
	root["title"] = "Netlist of an appliance, as legtrace reads it"
	// What starts from another netlist may leave anything to that one.
	root["if"] = object{"required": []string{"from"}}
	root["then"] = true
	root["else"] = object{"required": []string{"supply", "modes"}, "properties": object{
		"drop":   false,
		"supply": object{"required": []string{"system"}},
		"modes":  object{"minProperties": 1},
		"parts":  object{"additionalProperties": object{"$ref": "#/$defs/whole_part"}},
		"points": object{"additionalProperties": object{"required": []string{"at"}}},
		"wires": object{
			"items":                object{"required": []string{"from", "to"}},
			"additionalProperties": object{"required": []string{"from", "to"}}},
	}}
	part := m.structure(reflect.TypeFor[circuit.PartSpec](), "### Keys of a part", []string{"name"})
	part["properties"].(object)["senses"].(object)["items"] = object{"$ref": "#/$defs/sense"}
	part["properties"].(object)["codes"].(object)["items"] = object{"$ref": "#/$defs/code"}
	part["properties"].(object)["kind"].(object)["enum"] = kindNames()
	part["allOf"] = kinds
	wire := m.structure(reflect.TypeFor[circuit.WireSpec](), "## Wires", nil)
	wire["not"] = object{"required": []string{"awg", "mm2"}}
	supply := m.structure(reflect.TypeFor[circuit.SupplySpec](), "## Supply", nil)
	supply["if"] = object{"properties": object{"system": object{"const": "single-phase"}}, "required": []string{"system"}}
	supply["then"] = object{"properties": object{"wires": object{"maximum": 3}}}
	supply["else"] = object{"if": object{"required": []string{"system"}}, "then": object{"properties": object{"wires": object{"minimum": 3}}}}
	sense := m.structure(reflect.TypeFor[circuit.SenseSpec](), "### Controls", nil)
	sense["required"] = []string{"name", "pins", "max_ohms"}
	code := m.structure(reflect.TypeFor[circuit.CodeSpec](), "### Codes", nil)
	code["required"] = []string{"code", "means"}
	root["$defs"] = object{
		"supply": supply, "part": part, "sense": sense, "code": code, "wire": wire,
		"whole_part": object{"required": []string{"kind"}, "allOf": needs},
		"mode":       m.structure(reflect.TypeFor[circuit.ModeSpec](), "## Modes", []string{"name"}),
		"point":      m.structure(reflect.TypeFor[circuit.PointSpec](), "## Points", []string{"name"}),
		"panel":      m.structure(reflect.TypeFor[circuit.PanelSpec](), "### Panels", []string{"name"}),
		"place":      m.structure(reflect.TypeFor[circuit.PlaceSpec](), "### Places", []string{"name"}),
		"body":       m.structure(reflect.TypeFor[circuit.BodySpec](), "## Heat", []string{"name"}),
		"drop":       m.structure(reflect.TypeFor[dropSpec](), "## Starting from another netlist", nil),
	}
	return root
}

func kindNames() []string {
	var names []string
	for _, k := range circuit.Kinds() {
		names = append(names, k.String())
	}
	return names
}

// kinds returns, for each kind, the keys it takes and those it needs.
func (m schemaMaker) kinds() (takes, needs []object) {
	for _, k := range circuit.Kinds() {
		info := k.Info()
		isKind := object{"properties": object{"kind": object{"const": info.Name}}, "required": []string{"kind"}}
		keys := slices.Sorted(slices.Values(slices.Concat([]string{"kind", "label", "place", "note"}, info.Required, info.Optional)))
		then := object{"description": info.Trade, "propertyNames": object{"enum": keys}}
		if slices.Contains(keys, "contact") && !slices.Contains(keys, "contacts") {
			then["properties"] = object{"contact": object{"const": "changeover"}}
		}
		takes = append(takes, object{"if": isKind, "then": then})
		need := object{}
		if len(info.Required) > 0 {
			need["required"] = info.Required
		}
		switch k {
		case circuit.KindRelay:
			need["oneOf"] = []object{{"required": []string{"driven_by"}, "not": object{"anyOf": []object{{"required": []string{"volts"}}, {"required": []string{"watts"}}}}},
				{"required": []string{"volts", "watts"}, "not": object{"required": []string{"driven_by"}}}}
			fallthrough
		case circuit.KindCentrifugalSwitch:
			need["allOf"] = []object{{"oneOf": []object{{"required": []string{"contact"}}, {"required": []string{"contacts"}}}}}
		case circuit.KindSensor:
			need["if"] = object{"properties": object{"curve": object{"const": "ntc"}}, "required": []string{"curve"}}
			need["then"] = object{"required": []string{"beta"}}
			need["else"] = object{"properties": object{"beta": false}}
		}
		if slices.Contains(info.Required, "poles") {
			need["properties"] = object{"poles": object{"minItems": 1}}
		}
		if len(need) > 0 {
			needs = append(needs, object{"if": isKind, "then": need})
		}
	}
	return takes, needs
}

// structure makes the schema of a struct, its keys described by a table of
// FORMAT.md.
func (m schemaMaker) structure(t reflect.Type, heading string, without []string) object {
	said := m.said(heading)
	properties := object{}
	for key, i := range fieldsByTag(t) {
		if slices.Contains(without, key) {
			continue
		}
		p := m.value(t.Field(i).Type)
		if t == reflect.TypeFor[circuit.PartSpec]() && p["type"] == "number" {
			p["exclusiveMinimum"], p["maximum"] = 0, 1e7
		}
		for k, v := range limits[t.Name()+"."+key] {
			p[k] = v
		}
		if said[key] == "" {
			m.t.Errorf("FORMAT.md, %s, says nothing of %q", heading, key)
		}
		p["description"] = said[key]
		properties[key] = p
	}
	return object{"type": "object", "properties": properties, "additionalProperties": false}
}

func (m schemaMaker) value(t reflect.Type) object {
	switch t.Kind() {
	case reflect.Pointer:
		return m.value(t.Elem())
	case reflect.String:
		return object{"type": "string"}
	case reflect.Bool:
		return object{"type": "boolean"}
	case reflect.Int:
		return object{"type": "integer"}
	case reflect.Float64:
		return object{"type": "number"}
	case reflect.Slice:
		return object{"type": "array", "items": m.value(t.Elem())}
	case reflect.Map:
		return object{"type": "object", "additionalProperties": m.value(t.Elem())}
	}
	return object{"type": "object"}
}

var markup = regexp.MustCompile("`|\\[([^]]*)\\]\\([^)]*\\)")

// said returns what a table of FORMAT.md says of each key, its markup removed.
func (m schemaMaker) said(heading string) map[string]string {
	out := map[string]string{}
	for _, row := range rows(section(m.t, m.format, heading)) {
		out[strings.Trim(row[0], "`")] = markup.ReplaceAllString(row[1], "$1")
	}
	return out
}
