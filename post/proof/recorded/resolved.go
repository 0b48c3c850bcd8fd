package recorded

import (
	"fmt"
	"math"
	"reflect"

	"spotjig/cam/jig"
	"spotjig/layout/job"
	"spotjig/post"
)

// resolvedShare: numbers of the job, machine and material sections keep twelve
// significant digits in the record; what they may be off as a share of themselves.
const resolvedShare = 1e-11

// sameResolved compares what the record keeps of job, machine and material, whole,
// and the checks. What the record does not keep of a job (its file's name and the
// sections as written) is left out.
func sameResolved(got, want post.Set) error {
	for _, j := range [2]*job.Job{&got.Job, &want.Job} {
		j.File, j.Machine, j.Material = "", job.Section{}, job.Section{}
	}
	for _, v := range []struct {
		name      string
		got, want any
	}{{"job", got.Job, want.Job}, {"machine", got.Machine, want.Machine}, {"material", got.Material, want.Material}} {
		if at := differs(v.name, reflect.ValueOf(v.got), reflect.ValueOf(v.want)); at != "" {
			return fmt.Errorf("the record has another %s", at)
		}
	}
	if len(got.Checks) != len(want.Checks) {
		return fmt.Errorf("the record has %d checks, there were %d", len(got.Checks), len(want.Checks))
	}
	for i, c := range want.Checks {
		if !sameCheck(got.Checks[i], c) {
			return fmt.Errorf("the record has another check %s", c.ID)
		}
	}
	return nil
}

// sameCheck: values have six decimals in the record.
func sameCheck(got, want jig.Check) bool {
	near := func(a, b float64) bool { return math.Abs(a-b) <= recordTol }
	return got.ID == want.ID && got.Verdict == want.Verdict && got.Unit == want.Unit && got.Text == string([]rune(want.Text)) &&
		near(got.Value, want.Value) && near(got.Limit, want.Limit)
}

// differs returns the name of the first field in which two values of one type
// differ; "" when none does. An empty list is no list, and a missing pointer is
// one to nothing; interfaces and raw sections are not kept by the record.
func differs(name string, got, want reflect.Value) string {
	switch want.Kind() {
	case reflect.Float64:
		if math.Abs(got.Float()-want.Float()) > resolvedShare*math.Abs(want.Float()) {
			return name
		}
	case reflect.String: // JSON has no broken UTF-8
		if got.String() != string([]rune(want.String())) {
			return name
		}
	case reflect.Struct:
		for i := range want.NumField() {
			f := want.Type().Field(i)
			if !f.IsExported() || f.Type.Kind() == reflect.Interface {
				continue
			}
			if at := differs(name+"."+f.Name, got.Field(i), want.Field(i)); at != "" {
				return at
			}
		}
	case reflect.Slice, reflect.Array:
		if got.Len() != want.Len() {
			return name
		}
		for i := range want.Len() {
			if at := differs(fmt.Sprintf("%s[%d]", name, i), got.Index(i), want.Index(i)); at != "" {
				return at
			}
		}
	case reflect.Map:
		if got.Len() != want.Len() {
			return name
		}
		for _, k := range want.MapKeys() {
			if !got.MapIndex(k).IsValid() {
				return fmt.Sprintf("%s[%v]", name, k)
			}
			if at := differs(fmt.Sprintf("%s[%v]", name, k), got.MapIndex(k), want.MapIndex(k)); at != "" {
				return at
			}
		}
	case reflect.Pointer:
		if got.IsNil() != want.IsNil() {
			return name
		}
		if !want.IsNil() {
			return differs(name, got.Elem(), want.Elem())
		}
	default:
		if !got.Equal(want) {
			return name
		}
	}
	return ""
}
