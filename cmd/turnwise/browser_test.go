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

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
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
// request leaves, every picture is shown, nothing is wider than a telephone, headings are in order, all is reached by
// keyboard, words stand out from their ground, and it prints to as many pages as a booklet has sections or more, with
// nothing cut in two that must not be.
func TestBookletInABrowser(t *testing.T) {
	browser := findBrowser(t)
	designs, err := filepath.Glob("../../examples/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, designs)
	if testing.Short() {
		designs = designs[1:2]
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
	for _, f := range faults {
		assert.Zero(t, count(f.script), f.what)
	}
	sections := count(`document.querySelectorAll('section').length`)
	assert.Greater(t, sections, 5)
	require.NoError(t, chromedp.Do(ctx, onPaper, chromedp.EmulateViewport(printedWidePX, printedHighPX)))
	for _, f := range printFaults {
		assert.Zero(t, count(f.script), f.what)
	}
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

// fault counts what is wrong on a page.
type fault struct{ what, script string }

// faults are looked for on the screen.
var faults = []fault{
	{"a page that does not name its language", `document.documentElement.lang ? 0 : 1`},
	{"more or fewer than one heading of the first level", `Math.abs(document.querySelectorAll('h1').length - 1)`},
	{"headings that skip a level", `(() => {
		const levels = [...document.querySelectorAll('h1,h2,h3,h4,h5,h6')].map(h => +h.tagName[1]);
		return levels.filter((l, i) => i > 0 && l > levels[i - 1] + 1).length })()`},
	{"drawings without words", `[...document.querySelectorAll('svg')].filter(s => s.getAttribute('role') !== 'img' || !s.getAttribute('aria-label')).length`},
	{"boxes to tick without words", `[...document.querySelectorAll('input')].filter(i => !i.getAttribute('aria-label') && !i.closest('label')).length`},
	{"what cannot be reached by keyboard", `[...document.querySelectorAll('a,input,.wide')].filter(e => {
		e.focus({preventScroll: true}); return e.tabIndex < 0 || document.activeElement !== e }).length`},
	{"links that lead nowhere", `[...document.querySelectorAll('a')].filter(a => !document.querySelector(a.getAttribute('href'))).length`},
	{"words that stand out less than 4.5 to 1 from their ground (WCAG 2.2, 1.4.3)", contrastScript},
}

// contrastScript counts elements with words of their own whose colour has less contrast with the nearest ground than WCAG
// asks for. Luminance as WCAG defines it: sRGB made linear, weighted 0.2126, 0.7152, 0.0722.
const contrastScript = `(() => {
	const parts = c => c.match(/[\d.]+/g).map(Number);
	const light = ([r, g, b]) => [r, g, b].map(v => v / 255).map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)
		.reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
	const ground = e => { for (; e; e = e.parentElement) {
		const c = parts(getComputedStyle(e).backgroundColor); if (c.length === 3 || c[3] > 0) return c; } return [255, 255, 255] };
	const own = e => [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim());
	return [...document.body.querySelectorAll('*')].filter(own).filter(e => {
		const s = getComputedStyle(e), a = light(parts(e.ownerSVGElement ? s.fill : s.color)), b = light(ground(e));
		return (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05) < 4.5;
	}).length })()`

// What can be printed on of the smaller sheet in each direction, at 96 pixels to the inch: A4 is 210 mm wide, US letter
// 11 in (279.4 mm) high (ISO 216, ANSI Y14.1); the margins are those of the page's style.
const (
	printedWidePX = 680 // 210 mm less 2 x 15
	printedHighPX = 950 // 279.4 mm less 2 x 14
)

// onPaper shows the page as it is printed.
func onPaper(ctx context.Context, target *chromedp.Target) (chromedp.Void, error) {
	_, err := cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
	return chromedp.Void{}, err
}

// printFaults are looked for as the page is printed.
var printFaults = []fault{
	{"pictures and rows that may be cut in two by the end of a sheet", `[...document.querySelectorAll('figure,.panel,.card,.bar,.stick,tr')]
		.filter(e => getComputedStyle(e).breakInside !== 'avoid').length`},
	{"pictures that are higher than a sheet", `[...document.querySelectorAll('img,svg,tr,.card')].filter(e => e.getBoundingClientRect().height > innerHeight).length`},
	{"headings that may be left at the foot of a sheet", `[...document.querySelectorAll('h2,h3')].filter(e => getComputedStyle(e).breakAfter !== 'avoid').length`},
	{"what is wider than a sheet", `document.documentElement.scrollWidth > innerWidth ? 1 : 0`},
}

// pdfPage is a page object of a PDF file.
var pdfPage = regexp.MustCompile(`/Type\s*/Page[^s]`)
