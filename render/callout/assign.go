package callout

import "math"

// Assign gives each row a column of its own so that the sum of cost[row][column] is least, and returns the columns.
// There must be at least as many columns as rows; all costs are finite. It is the Hungarian method with shortest
// augmenting paths and potentials, O(rows² columns).
func Assign(cost [][]float64) []int {
	n := len(cost)
	if n == 0 {
		return nil
	}
	m := len(cost[0])
	// Rows and columns are counted from 1; column 0 stands for "not yet".
	u, v := make([]float64, n+1), make([]float64, m+1)
	rowOf, from := make([]int, m+1), make([]int, m+1)
	for i := 1; i <= n; i++ {
		rowOf[0] = i
		augment(cost, u, v, rowOf, from)
	}
	out := make([]int, n)
	for j := 1; j <= m; j++ {
		if rowOf[j] > 0 {
			out[rowOf[j]-1] = j - 1
		}
	}
	return out
}

// augment finds the shortest way from the row at column 0 to a free column and shifts the rows along it.
func augment(cost [][]float64, u, v []float64, rowOf, from []int) {
	m := len(v) - 1
	least, done := make([]float64, m+1), make([]bool, m+1)
	for j := range least {
		least[j] = math.Inf(1)
	}
	j0 := 0
	for rowOf[j0] != 0 {
		done[j0] = true
		i, next, delta := rowOf[j0], 0, math.Inf(1)
		for j := 1; j <= m; j++ {
			if done[j] {
				continue
			}
			if c := cost[i-1][j-1] - u[i] - v[j]; c < least[j] {
				least[j], from[j] = c, j0
			}
			if least[j] < delta {
				delta, next = least[j], j
			}
		}
		for j := range least {
			if done[j] {
				u[rowOf[j]] += delta
				v[j] -= delta
			} else {
				least[j] -= delta
			}
		}
		j0 = next
	}
	for j0 != 0 {
		rowOf[j0] = rowOf[from[j0]]
		j0 = from[j0]
	}
}
