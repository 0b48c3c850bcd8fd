package dryrun

import "io"

// tokenize is the yardstick for reading speed: a bare byte tokenizer that finds words
// and keeps the extremes of X, Y and S. It knows no modes, arcs, units or errors.
func tokenize(f io.Reader) (n int64, words int, minX, maxX float64) {
	pow10 := [...]float64{1, 10, 100, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9}
	buf := make([]byte, 1<<20)
	minX, maxX = 1e18, -1e18
	minY, maxY, maxS := 1e18, -1e18, 0.0
	rem := 0
	for {
		k, err := f.Read(buf[rem:])
		n += int64(k)
		end := rem + k
		if end == 0 {
			break
		}
		last := end
		if err == nil {
			for last > 0 && buf[last-1] != '\n' {
				last--
			}
		}
		for i := 0; i < last; {
			c := buf[i]
			i++
			if c == '(' {
				for i < last && buf[i] != ')' && buf[i] != '\n' {
					i++
				}
				continue
			}
			if c < 'A' || c > 'Z' {
				continue
			}
			neg := i < last && buf[i] == '-'
			if neg {
				i++
			}
			var m uint64
			frac := -1
			for i < last {
				d := buf[i]
				if d >= '0' && d <= '9' {
					m = m*10 + uint64(d-'0')
					if frac >= 0 {
						frac++
					}
				} else if d == '.' {
					frac = 0
				} else {
					break
				}
				i++
			}
			v := float64(m)
			if frac > 0 {
				v /= pow10[frac]
			}
			if neg {
				v = -v
			}
			words++
			switch c {
			case 'X':
				minX, maxX = min(minX, v), max(maxX, v)
			case 'Y':
				minY, maxY = min(minY, v), max(maxY, v)
			case 'S':
				maxS = max(maxS, v)
			}
		}
		rem = copy(buf, buf[last:end])
		if k == 0 {
			break
		}
	}
	return n, words, minX, maxX
}
