package recorded

import (
	"fmt"
	"math"
	"reflect"
	"strings"

	"spotjig/cam/machine"
	"spotjig/layout/geom"
	"spotjig/post"
)

// resolvedShare: numbers of the job, machine and material sections keep twelve
// significant digits in the record; what they may be off as a share of themselves.
const resolvedShare = 1e-11

// sameResolved compares what the record keeps of job, machine and material, whole.
func sameResolved(r told, set post.Set) error {
	for _, v := range []struct {
		name string
		got  map[string]any
		want any
		left string // fields of where the job was read from
	}{
		{"job", r.Job, set.Job, "file machine material made ledger"},
		{"machine", r.Machine, set.Machine, ""},
		{"material", r.Material, set.Material, ""},
	} {
		if at := differs(v.name, v.got, reflect.ValueOf(v.want), v.left); at != "" {
			return fmt.Errorf("the record has another %s", at)
		}
	}
	return nil
}

// named are the fields whose keys neither their names nor their units tell.
var named = map[string]string{"SwivelMax": "swivel_deg", "Misalign": "misalign"}

// keyOf is the key that a field has in the record, without what stands between words:
// its name with the unit that its type has there, z_up for ZUp, feed_max_mm_min for the
// feed FeedMax, wedge_deg for the angle Wedge.
func keyOf(f reflect.StructField) string {
	key, own := named[f.Name]
	if !own {
		key = f.Name + map[reflect.Type]string{reflect.TypeFor[machine.Feed](): "_mm_min", reflect.TypeFor[geom.Angle](): "_deg"}[f.Type]
	}
	return strings.ToLower(strings.ReplaceAll(key, "_", ""))
}

// differs returns the name of the first value in which what was read differs from what
// is so; "" when none does. No list is an empty one.
func differs(name string, got any, want reflect.Value, left string) string {
	switch want.Kind() {
	case reflect.Struct:
		return structDiffers(name, got, want, left)
	case reflect.Pointer:
		if want.IsNil() || got == nil {
			return nameUnless(name, want.IsNil() && got == nil)
		}
		return differs(name, got, want.Elem(), "")
	case reflect.Slice, reflect.Array:
		list, ok := got.([]any)
		if !ok || len(list) != want.Len() {
			return name
		}
		for i := range list {
			if at := differs(fmt.Sprintf("%s[%d]", name, i), list[i], want.Index(i), ""); at != "" {
				return at
			}
		}
		return ""
	case reflect.Map:
		table, ok := got.(map[string]any)
		if !ok || len(table) != want.Len() {
			return name
		}
		for _, k := range want.MapKeys() {
			if at := differs(fmt.Sprintf("%s[%v]", name, k), table[fmt.Sprint(k)], want.MapIndex(k), ""); at != "" {
				return at
			}
		}
		return ""
	case reflect.Float64:
		return nameUnless(name, sameNumber(got, want))
	case reflect.Int:
		return nameUnless(name, got == float64(want.Int()))
	case reflect.Bool:
		return nameUnless(name, got == want.Bool())
	}
	return nameUnless(name, got == string([]rune(want.String()))) // JSON has no broken UTF-8
}

func nameUnless(name string, same bool) string {
	if same {
		return ""
	}
	return name
}

// structDiffers holds an object against a struct: a key for every field, and no other.
func structDiffers(name string, got any, want reflect.Value, left string) string {
	object, ok := got.(map[string]any)
	if !ok {
		return name
	}
	byField := map[string]any{}
	for key, v := range object {
		byField[strings.ReplaceAll(key, "_", "")] = v
	}
	n := 0
	for i := range want.NumField() {
		f := want.Type().Field(i)
		if !f.IsExported() || strings.Contains(" "+left+" ", " "+strings.ToLower(f.Name)+" ") {
			continue
		}
		v, there := byField[keyOf(f)]
		if !there {
			return name + "." + f.Name
		}
		n++
		if at := differs(name+"."+f.Name, v, want.Field(i), ""); at != "" {
			return at
		}
	}
	return nameUnless(name, n == len(object))
}

// sameNumber: feeds stand in mm/min, angles in degrees, and what has no limit as a word.
func sameNumber(got any, want reflect.Value) bool {
	w := want.Float()
	switch want.Type() {
	case reflect.TypeFor[machine.Feed]():
		w *= 60
	case reflect.TypeFor[geom.Angle]():
		w *= 180 / math.Pi
	}
	if word, ok := got.(string); ok {
		return word == map[bool]string{true: "unbounded", false: "-unbounded"}[w > 0] && math.IsInf(w, 0)
	}
	g, ok := got.(float64)
	return ok && math.Abs(g-w) <= resolvedShare*math.Abs(w)
}
