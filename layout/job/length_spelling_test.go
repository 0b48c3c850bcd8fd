package job_test

import "fmt"

// feetInchesSpellings writes one length the ways people write it.
func feetInchesSpellings(ft, in, num, den int) []string {
	total := ft*12 + in
	return []string{
		fmt.Sprintf("%d ft %d %d/%d in", ft, in, num, den),
		fmt.Sprintf("%dft %d-%d/%din", ft, in, num, den),
		fmt.Sprintf(`%d' %d %d/%d"`, ft, in, num, den),
		fmt.Sprintf("%d′ %d %d/%d″", ft, in, num, den),
		fmt.Sprintf(`%d'-%d-%d/%d"`, ft, in, num, den),
		fmt.Sprintf("%d %d/%d in", total, num, den),
		fmt.Sprintf(`%d-%d/%d"`, total, num, den),
	}
}
