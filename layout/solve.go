package layout

import "math"

// independent returns the columns of a matrix, from the left, that are not a
// combination of those before them: what is left of a column after taking those
// out of it (Gram and Schmidt's method) is at least dependTol long.
func independent(jac [][5]float64) []int {
	var out []int
	var base [][]float64
	for j := range 5 {
		col := make([]float64, len(jac))
		for i := range jac {
			col[i] = jac[i][j]
		}
		for range 2 { // twice is enough (Giraud and others, 2005)
			for _, b := range base {
				k := dot(b, col)
				for i := range col {
					col[i] -= float64(k * b[i])
				}
			}
		}
		n := math.Sqrt(dot(col, col))
		if n < dependTol {
			continue
		}
		for i := range col {
			col[i] /= n
		}
		base, out = append(base, col), append(out, j)
	}
	return out
}

// pseudoinverse returns (AᵀA)⁻¹Aᵀ for the chosen columns A, which must be
// independent: a row a column of A, an entry a row of A.
//
// With A = QR by Gram and Schmidt, the inverse is R⁻¹Qᵀ, by back substitution.
func pseudoinverse(jac [][5]float64, free []int) [][]float64 {
	n := len(free)
	q := make([][]float64, n)
	r := make([][]float64, n)
	for c, j := range free {
		q[c], r[c] = make([]float64, len(jac)), make([]float64, n)
		for i := range jac {
			q[c][i] = jac[i][j]
		}
		for b := range c {
			r[b][c] = dot(q[b], q[c])
			for i := range jac {
				q[c][i] -= float64(r[b][c] * q[b][i])
			}
		}
		r[c][c] = math.Sqrt(dot(q[c], q[c]))
		for i := range jac {
			q[c][i] /= r[c][c]
		}
	}
	out := make([][]float64, n)
	for c := n - 1; c >= 0; c-- {
		row := append([]float64(nil), q[c]...)
		for b := c + 1; b < n; b++ {
			for i := range row {
				row[i] -= float64(r[c][b] * out[b][i])
			}
		}
		for i := range row {
			row[i] /= r[c][c]
		}
		out[c] = row
	}
	return out
}
