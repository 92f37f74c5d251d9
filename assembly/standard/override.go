package standard

// keyOrder is the order in which overridden keys are listed.
var keyOrder = []Key{
	KeyEngagement, KeyCentreToEnd, KeyLength, KeyHeight, KeyAcross, KeyCircle, KeyCountersink, KeyHoles, KeyRated, KeyThread,
}

// find returns the most particular override of that key for a part, and whether there is one. Sizes are by port.
func (c *Catalogue) find(key Key, kind Kind, sizes []Size) (Override, bool) {
	best, rank := Override{}, 0
	for _, o := range c.Overrides {
		if o.Key != key || !o.holdsFor(kind, sizes) {
			continue
		}
		if r := o.rank(); r >= rank {
			best, rank = o, r
		}
	}
	return best, rank > 0
}

// rank is how particular an entry is.
func (o Override) rank() int {
	switch {
	case len(o.Sizes) > 0 && o.Kind != "":
		return 3
	case len(o.Sizes) > 0:
		return 2
	}
	return 1
}

// holdsFor tells whether the entry is about a part of this kind and these sizes by port.
func (o Override) holdsFor(kind Kind, sizes []Size) bool {
	if o.Kind == "" && len(o.Sizes) == 0 || o.Kind != "" && o.Kind != kind {
		return false
	}
	switch len(o.Sizes) {
	case 0:
		return true
	case 1:
		for _, s := range sizes {
			if s != o.Sizes[0] {
				return false
			}
		}
		return true
	}
	full, err := spread(kind, o.Sizes)
	return err == nil && joinSizes(full) == joinSizes(sizes)
}

// value returns the i-th measured value of a key, the last one for a higher i.
func (o Override) value(i int) (Figure, bool) {
	if len(o.Values) == 0 {
		return Figure{}, false
	}
	if i >= len(o.Values) {
		i = len(o.Values) - 1
	}
	return Figure{MM: o.Values[i], Source: measuredSource, Grade: Measured}, true
}

// Engagement returns how far a thread of that size goes into a part of that kind, and whether the design gives that
// figure itself; a make-up by hand takes it from the tables. An engagement given for a size holds for every part of it.
func (c *Catalogue) Engagement(kind Kind, s Size) (Figure, bool, error) {
	if o, ok := c.find(KeyEngagement, kind, []Size{s}); ok {
		if v, ok := o.value(0); ok {
			return v, true, nil
		}
	}
	family, _ := c.familyOf(kind, []Size{s})
	row, err := Thread(family, s)
	if err != nil {
		return Figure{}, false, err
	}
	e, err := row.Engagement(c.MakeUp)
	return e, false, err
}

// familyOf returns the thread family of a part and whether its internal threads taper.
func (c *Catalogue) familyOf(kind Kind, sizes []Size) (Family, bool) {
	if o, ok := c.find(KeyThread, kind, sizes); ok && o.Family != "" {
		return o.Family, o.TaperInside || o.Family == NPT
	}
	if c.Family == BSPT {
		return BSPT, c.TaperInside
	}
	return NPT, true
}
