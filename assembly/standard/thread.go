package standard

import "fmt"

// Taper is the growth of the diameter along a taper pipe thread: 1 in 16 in both families.
const Taper = 1.0 / 16

// vanishPitches is the length of the vanish thread in pitches: ASME B1.20.1 (V = 3.47 p). ISO 7-1 gives none; the
// same is assumed there.
const vanishPitches = 3.47

// ThreadSource is the standard behind a family's threads.
func ThreadSource(f Family) string {
	if f == BSPT {
		return "ISO 7-1"
	}
	return "ASME B1.20.1"
}

// Thread returns the row of one thread. The error is a *SizeError for an unknown size.
func Thread(f Family, s Size) (ThreadRow, error) {
	if index(s) < 0 {
		return ThreadRow{}, &SizeError{Found: string(s)}
	}
	switch f {
	case NPT:
		return nptRow(s), nil
	case BSPT:
		return bsptRow(s), nil
	}
	return ThreadRow{}, fmt.Errorf("no thread family called %s; npt or bspt", f)
}

// threadCell returns a figure that every thread has.
func threadCell(f Family, s Size, dim string) Figure {
	v, ok := look(f, "thread", string(s), dim)
	if !ok {
		panic(fmt.Sprintf("standard: no %s of %s %s thread", dim, s, f))
	}
	return v
}

func nptRow(s Size) ThreadRow {
	get := func(dim string) Figure { return threadCell(NPT, s, dim) }
	tpi := get("tpi")
	return ThreadRow{
		Family: NPT, Size: s, TPI: tpi.MM,
		Pitch: Figure{mmPerInch / tpi.MM, tpi.Source + "; pitch = 1 in / threads per inch", tpi.Grade},
		Major: get("od"), E0: get("e0"), E1: get("e1"), L1: get("l1"), L2: get("l2"), L3: get("l3"), V: get("v"),
		Normal: get("normal"), HandTurns: get("hand-turns"), FlankDeg: 60, ToleranceTurns: get("tolerance-turns").MM,
	}
}

func bsptRow(s Size) ThreadRow {
	get := func(dim string) Figure { return threadCell(BSPT, s, dim) }
	p, e1, l1 := get("pitch"), get("e1"), get("l1")
	return ThreadRow{
		Family: BSPT, Size: s, TPI: get("tpi").MM, Pitch: p, Major: get("major"),
		E0: derived(e1.MM-l1.MM*Taper, "ISO 7-1: pitch diameter at the gauge plane less gauge length / 16", e1, l1),
		E1: e1, L1: l1, L2: get("l2"), L3: get("l3"),
		V:         assumed(vanishPitches*p.MM, "no ISO 7-1 value: vanish thread of 3.47 pitches as in ASME B1.20.1"),
		Normal:    get("normal"),
		HandTurns: derived(l1.MM/p.MM, "ISO 7-1: gauge length / pitch", l1, p),
		FlankDeg:  55, ToleranceTurns: get("tolerance-turns").MM,
	}
}

// Engagement returns how far this thread goes in at a make-up.
func (r ThreadRow) Engagement(m MakeUp) (Figure, error) {
	switch m {
	case MakeUpNormal, "":
		return r.Normal, nil
	case MakeUpGauge:
		if r.Family == BSPT {
			return Figure{}, fmt.Errorf("gauge is for npt; normal or hand")
		}
		return derived(r.L1.MM+r.L3.MM, "ASME B1.20.1: L1 + L3", r.L1, r.L3), nil
	case MakeUpHand:
		return derived(r.L1.MM+r.Pitch.MM, ThreadSource(r.Family)+": hand-tight length and one turn more", r.L1, r.Pitch), nil
	}
	return Figure{}, fmt.Errorf("no make-up called %s; normal, gauge or hand", m)
}
