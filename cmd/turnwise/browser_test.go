package main

import (
	"context"
	"io"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/network"
	cdpruntime "github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/cmd/turnwise/internal/cli"
)

// mustBrowse is the variable that makes a missing browser a failure and not a reason to skip.
const mustBrowse = "TURNWISE_BROWSER"

// TestBookletInABrowser opens the booklets of all examples in a real browser: no error and no warning on its console, no
// request leaves, every picture is shown, nothing is wider than a telephone, and it prints to as many pages as a booklet
// has sections or more.
func TestBookletInABrowser(t *testing.T) {
	browser := findBrowser(t)
	designs, err := filepath.Glob("../../examples/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, designs)
	if testing.Short() {
		designs = designs[:1]
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(browser), chromedp.NoSandbox)
	alloc, stop := chromedp.NewExecAllocator(context.Background(), options...)
	defer stop()
	for _, design := range designs {
		t.Run(strings.TrimSuffix(filepath.Base(design), ".yaml"), func(t *testing.T) { browse(t, alloc, design) })
	}
}

func findBrowser(t *testing.T) string {
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	if os.Getenv(mustBrowse) != "" {
		t.Fatalf("no browser found, and %s asks for one", mustBrowse)
	}
	t.Skipf("no browser found; set %s to make that a failure", mustBrowse)
	return ""
}

// heard is what a browser tells while it shows a page.
type heard struct {
	mu       sync.Mutex
	requests []string
	troubles []string
}

func (h *heard) listen(ev any) {
	h.mu.Lock()
	defer h.mu.Unlock()
	switch ev := ev.(type) {
	case *network.EventRequestWillBeSent:
		h.requests = append(h.requests, ev.Request.URL)
	case *cdpruntime.EventExceptionThrown:
		h.troubles = append(h.troubles, ev.ExceptionDetails.Text)
	case *cdpruntime.EventConsoleAPICalled:
		h.troubles = append(h.troubles, string(ev.Type))
	}
}

func browse(t *testing.T, alloc context.Context, design string) {
	out := t.TempDir()
	code := cli.Run([]string{"build", design, "--out", out, "--only", "booklet"}, cli.Streams{Out: io.Discard, Err: io.Discard})
	require.Equal(t, 0, code, design)
	ctx, cancel := chromedp.NewContext(alloc)
	defer cancel()
	ctx, cancelLate := context.WithTimeout(ctx, 2*time.Minute)
	defer cancelLate()
	var h heard
	require.NoError(t, chromedp.Listen(ctx, h.listen))
	address := (&url.URL{Scheme: "file", Path: filepath.Join(out, "booklet.html")}).String()
	require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(360, 740), chromedp.Navigate(address)))
	count := func(script string) int {
		n, err := chromedp.Run(ctx, chromedp.Evaluate[int](script))
		require.NoError(t, err, script)
		return n
	}
	assert.Greater(t, count(`document.images.length`), 3)
	assert.Zero(t, count(`[...document.images].filter(i => !i.complete || i.naturalWidth === 0).length`), "pictures that are not shown")
	assert.Zero(t, count(`[...document.images].filter(i => !i.alt).length`), "pictures without words")
	assert.LessOrEqual(t, count(`document.documentElement.scrollWidth - document.documentElement.clientWidth`), 0, "how much wider than a telephone the page is")
	sections := count(`document.querySelectorAll('section').length`)
	assert.Greater(t, sections, 5)
	for _, paper := range []chromedp.PaperSize{chromedp.PaperA4, chromedp.PaperLetter} {
		printed, err := chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPaper(paper)))
		require.NoError(t, err)
		assert.GreaterOrEqual(t, len(pdfPage.FindAll(printed, -1)), sections-2, "printed pages")
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	assert.Empty(t, h.troubles)
	assert.NotEmpty(t, h.requests)
	for _, r := range h.requests {
		assert.True(t, r == address || strings.HasPrefix(r, "data:"), "a request leaves the page: %.80s", r)
	}
}

// pdfPage is a page object of a PDF file.
var pdfPage = regexp.MustCompile(`/Type\s*/Page[^s]`)
