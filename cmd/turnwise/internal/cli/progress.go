package cli

import (
	"github.com/schollz/progressbar/v3"

	"turnwise/cmd/turnwise/internal/pipeline"
)

// progress draws a bar on a terminal and nothing elsewhere: a log is better off without half-finished lines.
type progress struct{ bar *progressbar.ProgressBar }

func newProgress(s Streams) *progress {
	if !s.IsTerminal {
		return &progress{}
	}
	return &progress{progressbar.NewOptions(1,
		progressbar.OptionSetWriter(s.Err),
		progressbar.OptionSetWidth(30),
		progressbar.OptionClearOnFinish(),
		progressbar.OptionSetPredictTime(false),
	)}
}

func (p *progress) show(at pipeline.Progress) {
	if p.bar == nil {
		return
	}
	p.bar.ChangeMax(at.Of)
	p.bar.Describe(at.Stage)
	_ = p.bar.Set(at.Done) // a terminal that cannot be written to is no reason to stop the work
}

func (p *progress) done() {
	if p.bar != nil {
		_ = p.bar.Finish()
	}
}
