package web

import (
	"fmt"
	"os"
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"knobwise/answer"
	"knobwise/bench/box"
)

// spoken lists what page and server say to each other; what these hold is written too.
var spoken = []any{Bench{}, Box{}, Setup{}, SweepRequest{}, SweepReply{}, ExportRequest{}, SaveRequest{}, SaveReply{}, Conflict{}, Failure{}, Step{}, PlaceRequest{}, PlaceReply{}, ChartRequest{}, answer.TuningChart{}, Measurements{}, MeasuredRequest{}, answer.Measured{}, Dropped{}, NewMeasurement{}, Trial{}, Kept{}, InsideRequest{}, ScreenRequest{}, Screen{}}

const typesFile = "page/src/api.ts"

// The page's types are those of the server: generated, so that they cannot drift. UPDATE_GOLDEN=1 writes them.
func TestPageTypes(t *testing.T) {
	want := typeScript(spoken)
	if os.Getenv("UPDATE_GOLDEN") != "" {
		if err := os.WriteFile(typesFile, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(typesFile)
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != want {
		t.Errorf("%s is not what the server says (UPDATE_GOLDEN=1 renews it):\n%s", typesFile, cmp.Diff(string(got), want))
	}
	if strings.Count(want, "export interface") < len(spoken) {
		t.Error("types are missing")
	}
}

// typeScript writes the interfaces of structs as JSON shows them, in the order in which they are met.
func typeScript(all []any) string {
	g := &generator{seen: map[string]reflect.Type{}}
	for _, x := range all {
		g.name(reflect.TypeOf(x))
	}
	return "// Generated from web/api.go by its test: UPDATE_GOLDEN=1 go test ./web\n\n" + strings.Join(g.written, "\n")
}

type generator struct {
	seen    map[string]reflect.Type
	written []string
}

// name is the TypeScript name of a struct, which it writes when first met. Structs of one name from two packages are
// told apart by the package.
func (g *generator) name(t reflect.Type) string {
	name := t.Name()
	if other, ok := g.seen[name]; ok {
		if other == t {
			return name
		}
		parts := strings.Split(t.PkgPath(), "/")
		last := parts[len(parts)-1]
		name = strings.ToUpper(last[:1]) + last[1:] + name
		if g.seen[name] == t {
			return name
		}
	}
	g.seen[name] = t
	place := len(g.written)
	g.written = append(g.written, "")
	var b strings.Builder
	fmt.Fprintf(&b, "export interface %s {\n", name)
	g.fields(&b, t)
	b.WriteString("}\n")
	g.written[place] = b.String()
	return name
}

func (g *generator) fields(b *strings.Builder, t reflect.Type) {
	for f := range t.Fields() {
		tag, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		switch {
		case f.Anonymous && tag == "":
			g.fields(b, f.Type)
		case tag == "-" || !f.IsExported():
		default:
			if tag == "" {
				panic(fmt.Sprintf("%s.%s has no json tag", t, f.Name))
			}
			fmt.Fprintf(b, "  %s: %s\n", tag, g.of(f.Type))
		}
	}
}

func (g *generator) of(t reflect.Type) string {
	switch t {
	case reflect.TypeFor[answer.Number]():
		return "number | null"
	case reflect.TypeFor[answer.Column]():
		return "(number | null)[]"
	case reflect.TypeFor[box.Setting]():
		return "Record<string, number | string>"
	}
	switch t.Kind() {
	case reflect.String:
		return "string"
	case reflect.Bool:
		return "boolean"
	case reflect.Int, reflect.Float64:
		return "number"
	case reflect.Pointer:
		return g.of(t.Elem()) + " | null"
	case reflect.Slice:
		inner := g.of(t.Elem())
		if strings.Contains(inner, " ") {
			inner = "(" + inner + ")"
		}
		return inner + "[]"
	case reflect.Map:
		if t.Elem().Kind() == reflect.Interface {
			return "Record<string, number | string>"
		}
		return "Record<string, " + g.of(t.Elem()) + ">"
	case reflect.Struct:
		return g.name(t)
	}
	panic("no TypeScript for " + t.String())
}
