package main

import (
	"context"

	"spotjig/post/proof"
)

// prove holds the files' text, as read back by code that shares nothing with the
// writers, against the parts they must cut.
func (b *built) prove(ctx context.Context) error {
	checks, err := proof.Run(ctx, b.set, b.file)
	b.set.Checks = append(b.set.Checks, checks...)
	return err
}

// provePictures holds what people look at, as read back, against the set.
func (b *built) provePictures(o outputOptions) {
	b.set.Checks = append(b.set.Checks, proof.Shown(b.set, b.file, proof.Printing{Paper: o.paper, Of: o.proofOf, Pictures: o.svg})...)
}

// proveRecord reads the record back; it is written last, so that this check is
// the one that it does not list.
func (b *built) proveRecord() {
	data, _ := b.file(recordName)
	var files []proof.File
	for _, f := range b.files {
		if f.name != recordName {
			files = append(files, proof.File{Name: f.name, Data: f.data})
		}
	}
	b.set.Checks = append(b.set.Checks, proof.Record(data, b.set, files))
}
