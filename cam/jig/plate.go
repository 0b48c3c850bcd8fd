package jig

import (
	"slices"

	"spotjig/layout/geom"
)

// plate is a template of sheet that stands on fins and is joined by dovetails.
type plate struct {
	req  Request
	lim  limits
	font lettering
}

func newPlate(req Request) plate {
	lim := limitsFor(req)
	lim.reach = lim.tail + (keyKinds-1)*keyLonger
	return plate{req, lim, newLettering()}
}

func (k plate) limits() limits { return k.lim }

func (k plate) stand(tp *template) { placeFins(tp, k.lim, k.req.Table) }

func (k plate) join(all []*template) error { return cutKeys(all, k.lim) }

func (k plate) cut(tp *template) {
	plateOutlines(tp, k.lim)
	openMarks(tp, k.lim, func(p *piece, q geom.Point, keep float64) bool { return p.box.Grow(-keep).Contains(q) })
}

func (k plate) score(tp *template) { plateScores(tp, k.lim, k.req.Table, k.font) }

func (k plate) parts(tp *template) []Part {
	var out []Part
	for _, f := range tp.fins {
		out = append(out, finPart(tp, f, k.lim, k.font))
	}
	if k.req.Want.SpareFins {
		out = append(out, spareFins(tp, k.lim, k.font)...)
	}
	if k.req.Want.Spots == "sticker" {
		out = append(out, plugs(tp, k.lim, k.font)...)
	}
	return out
}

func (k plate) checks(all []*template, of looked) []Check {
	own := []Check{overlapCheck(all, k.lim, k.req.Table), finCheck(all)}
	touch := append(contacts(all, k.req.Table), tipping(all, k.lim, k.req.Material)...)
	return slices.Concat(of.valid, own, of.marks, touch, of.cushions, of.handling, of.budget, of.class, of.serves)
}
