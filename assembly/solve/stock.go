package solve

import "turnwise/assembly"

const stockAgreement = 0.005 * 25.4

type shifter struct{}

func (s *solver) newShifter() *shifter { return &shifter{} }

func (h *shifter) stock(p *pipe) *assembly.Stock { return nil }
