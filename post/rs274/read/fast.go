package read

import (
	"bytes"
	"encoding/binary"
	"math/bits"
)

// How plain lines are read fast
//
// Nearly every line of a large program is a few words of X, Y, Z, S, F and G0 or G1
// with plain numbers, in modes set long before. Such lines are read here without a
// block: the words go into registers, and at the line end one event is written. A line
// with anything else in it, and a line in a state where anything is missing, is
// not plain; nothing of it has been kept, and the full interpreter takes it from its
// first byte. So the short cut can be wrong in one way only, by taking a line it
// should leave, and a test runs every program both ways.
//
// Digits are read eight at a time. In a word of eight bytes, little end first, the
// bytes that are not digits are found by arithmetic on all eight at once; how many
// come before the first of them tells how far to shift, and three multiplications sum
// them up in pairs, fours and eights. There is no branch on how many digits there are,
// which is what a processor cannot guess. (Known as SWAR: D. Lemire, "Quickly parsing
// eight digits", 2018, gives the sums.)

// pad is how many bytes beyond the last line may be loaded, never used.
const pad = 16

// plainDigits is the most digits a plain number has: its digits make a whole number
// below 2^53, so that dividing it by a power of ten rounds once and rightly.
const plainDigits = 15

// tens are exact.
var tens = [16]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}

// zeros turns the characters 0 to 9 into the numbers 0 to 9.
const zeros = 0x3030303030303030

// notDigits returns the top bit of every byte of w that is above 9.
func notDigits(w uint64) uint64 {
	const ones = 0x0101010101010101
	return (w&(0x7F*ones) + 0x76*ones | w) & (0x80 * ones)
}

// sumDigits returns the value of eight bytes 0 to 9, the first digit in the low one.
// Bytes shifted in as zeros stand before the number and do not count.
func sumDigits(w uint64) uint64 {
	w = w*10 + w>>8
	return (w&0x000000FF000000FF*0x000F424000000064 + w>>16&0x000000FF000000FF*0x0000271000000001) >> 32
}

// plainState reports whether plain lines may be taken in this state.
func (p *program) plainState() bool {
	x := p.runs[0]
	const all = 1<<gUnits | 1<<gDistance | 1<<gPlane | 1<<gSystem | 1<<gComp | 1<<gLength | 1<<gFeedMode
	return len(p.runs) == 1 && p.started && len(x.batch.Events) < batchMax && p.percent < 2 && !x.ended && x.stated&all == all && !x.inverse && !x.incremental &&
		x.feedSet && x.feed > 0 && x.known[x.system] == [3]bool{true, true, true} && len(x.dialect.words)+len(x.dialect.refused) == 0 &&
		x.settled && !x.anyLost && p.loose == 0 && !x.dialect.powerByM
}

// plain interprets lines of b[:n] from i on as long as they are plain, and returns
// where it stopped: at n, at the start of a line, or where the batch is full. b[n-1] is
// a line end, and pad bytes more may be loaded.
//
// It is one long function on purpose: what it keeps in local variables stays in
// registers from line to line.
func (p *program) plain(b []byte, i, n int) int {
	x := p.runs[0]
	px, py, pz := x.pos[0], x.pos[1], x.pos[2]
	ox, oy, oz := x.offset(0), x.offset(1), x.offset(2)
	motion, s, scale := x.motion, x.s, x.scale
	speed := x.feed * scale / 60
	line, longest, decimals := p.line, min(p.lineMax, LineMax), x.dialect.decimals
	bare := Event{Turn: x.turn, Path: x.path, Extra: -1}
	ev, most := x.batch.room(batchMax), batchMax
	done := len(x.batch.Events)
	start := i
lines:
	for i < n {
		start = i
		tx, ty, tz := px, py, pz
		g, feed, sv := motion, 0.0, s
		var seen, cols uint32 // cols: a byte each for X, Y, Z and the first word
		for {
			c := b[i]
			if c <= ' ' {
				if c == '\n' {
					break
				}
				if c == '\r' && b[i+1] == '\n' && i+1 < n {
					break
				}
				if c != ' ' {
					break lines
				}
				i++
				continue
			}
			if c == '(' {
				if x.texts {
					break lines
				}
				if i = x.plainComment(b, i, n); i == 0 {
					break lines
				}
				break
			}
			col := uint32(i-start+1) & 255
			// How most lines begin.
			if c == 'G' && b[i+1]-'0' < 2 && b[i+2] == ' ' && seen&(1<<('G'&31)) == 0 {
				g = int16(b[i+1]-'0') * 10
				seen |= 1 << ('G' & 31)
				if cols>>24 == 0 {
					cols = col << 24
				}
				i += 3
				continue
			}
			i++
			neg := b[i] == '-'
			if neg {
				i++
			}
			// One load holds the whole number in nearly every file; two do in the rest.
			w := binary.LittleEndian.Uint64(b[i:i+8]) ^ zeros
			bad := notDigits(w)
			digits := bits.TrailingZeros64(bad) >> 3
			part := 0
			var m uint64
			if point := uint(digits) * 8; digits < 8 && byte(w>>(point&63)) == '.'^'0' {
				bad &= bad - 1
				if bad != 0 {
					end := bits.TrailingZeros64(bad) >> 3
					part = end - digits - 1
					low := uint64(1)<<(point&63) - 1
					m = sumDigits((w&low | w>>8&^low) << (uint(72-8*end) & 127))
					digits, i = end-1, i+end
				} else {
					m = sumDigits(w << ((64 - point) & 127))
					i += digits + 1
					w = binary.LittleEndian.Uint64(b[i:i+8]) ^ zeros
					part = bits.TrailingZeros64(notDigits(w)) >> 3
					m = m*tensInt[part&15] + sumDigits(w<<(uint(64-8*part)&127))
					digits, i = digits+part, i+part
				}
			} else {
				m = sumDigits(w << (uint(64-8*digits) & 127))
				i += digits
			}
			if uint(digits-1) >= plainDigits || b[i]-'0' < 10 || b[i] == '.' || part > decimals { // none, too many, or more to come
				break lines
			}
			v := float64(m) / tens[part&15]
			if neg {
				v = 0 - v
			}
			c &^= 0x20 // upper case
			letter := uint32(1) << (c & 31)
			if seen&letter != 0 {
				break lines
			}
			seen |= letter
			if cols>>24 == 0 {
				cols = col << 24
			}
			switch c {
			case 'X':
				tx, cols = v*scale+ox, cols|col
			case 'Y':
				ty, cols = v*scale+oy, cols|col<<8
			case 'Z':
				tz, cols = v*scale+oz, cols|col<<16
			case 'S':
				if sv = v; neg {
					break lines
				}
			case 'G':
				if g = int16(m * 10); part != 0 || digits > 2 || neg || m > 1 {
					break lines
				}
			case 'F':
				if feed = v; v <= 0 {
					break lines
				}
			case 'N':
				cols = 0
				if seen != letter || part != 0 || digits > 5 || neg || b[i-1] == '.' {
					break lines
				}
			default:
				break lines
			}
		}
		if i-start > longest {
			break
		}
		if seen&plainAxes == 0 {
			if seen != 0 {
				break // words without a move: S or a motion code alone
			}
		} else {
			if g != 0 && g != 10 || seen&plainZ != 0 && !x.hasZ {
				break
			}
			if feed != 0 {
				x.feed = feed
				speed = feed * scale / 60
			}
			px, py, pz, motion, s = tx, ty, tz, g, sv
			e := &ev[done]
			done++
			*e = bare
			e.Kind, e.Line, e.S = Rapid, line+1, s
			if g != 0 {
				e.Kind, e.Feed = Line, speed
			}
			e.To[0], e.To[1], e.To[2] = px, py, pz
			e.Cols[0], e.Cols[1], e.Cols[2], e.Col = uint16(cols&255), uint16(cols>>8&255), uint16(cols>>16&255), uint16(cols>>24)
			x.moved = true
		}
		line++
		if i++; b[i-1] == '\r' {
			i++
			p.crlf++
		}
		start = i
		if done == most {
			x.full = true
			break
		}
	}
	x.batch.Events = ev[:done]
	if motion != x.motion {
		x.stated |= 1 << gMotion
	}
	x.pos, x.motion, x.s, p.line = Point{px, py, pz}, motion, s, line
	return start
}

const (
	plainAxes = 1<<('X'&31) | 1<<('Y'&31) | 1<<('Z'&31)
	plainZ    = 1 << ('Z' & 31)
)

// tensInt are powers of ten as whole numbers.
var tensInt = [16]uint64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8}

// plainComment returns the place of the line end after the comment that begins at i,
// when the comment is well formed, the last thing on its line and nothing that acts; else 0.
func (x *interp) plainComment(b []byte, i, n int) int {
	line := b[i+1 : min(n, i+1+LineMax)]
	end := bytes.IndexByte(line, ')')
	if end < 0 {
		return 0
	}
	in := line[:end]
	if bytes.IndexByte(in, '\n') >= 0 || bytes.IndexByte(in, '(') >= 0 || bytes.IndexByte(in, '\r') >= 0 {
		return 0
	}
	if x.mayAct(in) {
		return 0
	}
	j := i + 1 + end + 1
	if b[j] == '\n' || b[j] == '\r' && j+1 < n && b[j+1] == '\n' {
		return j
	}
	return 0
}
