package record

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
)

// The record lists a hash of every other file; its own stands in its last key,
// self: the SHA-256, in hex, of the file's bytes with the digits of that hash
// left out. It tells an edit, not a forgery: who knows this rule can edit the
// record and compute the hash again.

// selfHead and selfTail stand about the digits, at the very end of the file.
const (
	selfHead = ",\n\"self\": \""
	selfTail = "\"\n}\n"
)

// sealed puts the hash into a record written with an empty one.
func sealed(blank []byte) []byte {
	sum := sha256.Sum256(blank)
	at := len(blank) - len(selfTail)
	out := append(make([]byte, 0, len(blank)+2*len(sum)), blank[:at]...)
	return append(hex.AppendEncode(out, sum[:]), selfTail...)
}

// Unedited reports whether every byte of a record is as it was written: it ends
// in the key self, and that holds the hash of all the rest.
func Unedited(data []byte) bool {
	const digits = 2 * sha256.Size
	at := len(data) - digits - len(selfTail)
	if at < len(selfHead) || !bytes.HasSuffix(data[:at], []byte(selfHead)) {
		return false
	}
	blank := append(append(make([]byte, 0, len(data)-digits), data[:at]...), data[at+digits:]...)
	return bytes.Equal(sealed(blank), data)
}
