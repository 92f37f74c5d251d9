package sequence

import (
	"cmp"
	"slices"
)

// sortBy sorts a list by a key and leaves equals in their order.
func sortBy[T any](list []T, key func(T) int) {
	slices.SortStableFunc(list, func(a, b T) int { return cmp.Compare(key(a), key(b)) })
}
