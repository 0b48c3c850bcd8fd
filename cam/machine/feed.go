package machine

import (
	"fmt"
	"strings"

	"spotjig/layout/figure"
	"spotjig/layout/job"
)

// Limits of a feed, mm/s. Slower burns or tears, faster is past any gantry.
const feedMin, feedTop Feed = 0.05, 5000

// feedUnits are the units of speed, in mm/s. A speed without one is refused: mm/s
// and mm/min are both in use and sixty times apart.
func feedUnits() []struct {
	name string
	mm   float64
} {
	return []struct {
		name string
		mm   float64
	}{
		{"mm/s", 1}, {"mm/sec", 1}, {"mm/min", 1.0 / 60}, {"m/min", 1000.0 / 60}, {"in/s", figure.MMPerInch}, {"in/min", figure.MMPerInch / 60},
	}
}

// feedHelp is the remedy for whatever is not a speed.
const feedHelp = "write it with its unit: 20 mm/s or 1200 mm/min"

// feed reads a speed; def when there is none.
func feed(f *job.Fields, key string, def Feed) Feed {
	var units []string
	for _, u := range feedUnits() {
		units = append(units, u.name)
	}
	f.Note(job.Key{Path: key, Form: "speed", Units: units, Limits: fmt.Sprintf("%g mm/s to %g mm/s", float64(feedMin), float64(feedTop)), Default: fmt.Sprintf("%g mm/s", float64(def))})
	text, ok := f.Plain(key, NameMax)
	if !ok {
		if def > 0 {
			f.Settle(key, job.Exact(float64(def))+" mm/s")
		}
		return def
	}
	v, msg := parseFeed(text)
	if msg != "" {
		f.Fault(key, "M003", msg, feedHelp)
		return def
	}
	if v < feedMin || v > feedTop {
		f.Fault(key, "M003", fmt.Sprintf("%s is outside %g to %g mm/s", text, float64(feedMin), float64(feedTop)), feedHelp)
		return def
	}
	f.Settle(key, job.Exact(float64(v))+" mm/s")
	return v
}

// parseFeed reads "20 mm/s"; msg says what is wrong, "" when nothing is.
func parseFeed(text string) (v Feed, msg string) {
	t := strings.ToLower(strings.ReplaceAll(text, " ", ""))
	end := strings.IndexFunc(t, func(r rune) bool { return r >= 'a' && r <= 'z' })
	if end < 0 {
		return 0, fmt.Sprintf("%q has no unit: mm/s or mm/min?", text)
	}
	for _, u := range feedUnits() {
		if t[end:] != u.name {
			continue
		}
		n, msg, _ := job.ParseNumber(t[:end])
		if msg != "" {
			return 0, fmt.Sprintf("%q is not a speed", text)
		}
		if u.name == "mm/min" {
			return FeedPerMinute(n), ""
		}
		return Feed(n * u.mm), ""
	}
	return 0, fmt.Sprintf("%q is not a speed", text)
}
