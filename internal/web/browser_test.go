package web

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	cdpage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// axeScript is the accessibility checker, version 4.14.1, for tests alone.
//
//go:embed testdata/axe/axe.min.js
var axeScript string

// screens are the widths and heights every page is looked at in.
var screens = [][2]int64{{1280, 800}, {1024, 768}, {768, 1024}, {390, 844}}

// extreme tells of the widest and the narrowest screen, where the checker goes over a
// page: between them its lines break elsewhere and nothing else changes.
func extreme(s [2]int64) bool { return s == screens[0] || s == screens[len(screens)-1] }

// newBrowser starts a browser of its own for one test, and fails the test when
// the machine has none: a page nobody has looked at is not tested.
func newBrowser(t *testing.T, more ...chromedp.ExecAllocatorOption) context.Context {
	t.Helper()
	var exe string
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "google-chrome-stable"} {
		if p, err := exec.LookPath(name); err == nil {
			exe = p
			break
		}
	}
	if exe == "" {
		t.Fatal("no chromium on this machine: install the package chromium, the pages are tested in a browser")
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(exe), chromedp.UserDataDir(t.TempDir()), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true))
	opts = append(opts, more...)
	ctx, stop := chromedp.NewExecAllocator(t.Context(), opts...)
	t.Cleanup(stop)
	ctx, cancel := chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	ctx, late := context.WithTimeout(ctx, 8*time.Minute)
	t.Cleanup(late)
	if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil {
		t.Fatalf("start %s: %v", exe, err)
	}
	return ctx
}

// retype puts a text in the place of what a field holds, by keys alone.
func retype(t *testing.T, tab context.Context, sel, text string) {
	t.Helper()
	do(t, tab, chromedp.Focus(chromedp.CSS(sel)), chromedp.KeyEvent("a", chromedp.KeyModifiers(kb.ModifierCtrl)), chromedp.SendKeys(chromedp.CSS(sel), text))
}

// newTab opens a tab beside the browser's first.
func newTab(t *testing.T, browser context.Context) context.Context {
	t.Helper()
	ctx, cancel := chromedp.NewContext(browser)
	t.Cleanup(cancel)
	return ctx
}

func do(t *testing.T, ctx context.Context, steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	for i, s := range steps {
		if err := again(func() error { return chromedp.Do(ctx, s) }); err != nil {
			t.Fatalf("step %d: %v", i+1, err)
		}
	}
}

// again does a step anew when the page it looked for its node in has gone in between:
// a form without script answers by another page, at no time a test could wait for. The
// browser refuses such a step before it does any of it.
func again(step func() error) error {
	for try := 1; ; try++ {
		err := step()
		var refused *cdproto.Error
		if try == 20 || !errors.As(err, &refused) || !strings.Contains(refused.Message, "node with given id") {
			return err
		}
		time.Sleep(50 * time.Millisecond)
	}
}

func value[T any](t *testing.T, ctx context.Context, a chromedp.Action[T]) T {
	t.Helper()
	var v T
	err := again(func() (err error) {
		v, err = chromedp.Run(ctx, a)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// command makes an action of a bare command of the protocol.
func command[P, R any](cmd cdp.Command[P, R], params P) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, cmd, params)
		return err
	})
}

func size(w, h int64) chromedp.Action[chromedp.Void] { return chromedp.EmulateViewport(w, h) }

// theme asks for the light or the dark theme, as the machine's setting would.
func theme(name string) chromedp.Action[chromedp.Void] {
	return command(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: name}}})
}

func scripts(on bool) chromedp.Action[chromedp.Void] {
	return command(emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: !on})
}

// clockAt sets the clock of the pages opened from now on.
func clockAt(at time.Time) chromedp.Action[chromedp.Void] {
	return command(cdpage.AddScriptToEvaluateOnNewDocument, cdpage.AddScriptToEvaluateOnNewDocumentParams{
		Source: fmt.Sprintf("Date.now = () => %d;", at.UnixMilli())})
}

// overflow returns how much wider the page is than its window [CSS pixels].
func overflow(t *testing.T, ctx context.Context) float64 {
	t.Helper()
	m, err := chromedp.Call(ctx, cdpage.GetLayoutMetrics, cdp.Empty{})
	if err != nil {
		t.Fatal(err)
	}
	return m.CSSContentSize.Width - float64(m.CSSLayoutViewport.ClientWidth)
}

// axeResult is what the checker found.
type axeResult struct {
	Passes     int      `json:"passes"`
	Violations []string `json:"violations"`
}

// axe runs the rules of the checker; with tags or names, those alone.
func axe(t *testing.T, ctx context.Context, rules ...string) axeResult {
	t.Helper()
	only := ""
	if len(rules) > 0 {
		only = "runOnly: ['" + strings.Join(rules, "', '") + "'], "
	}
	if value(t, ctx, chromedp.Evaluate[bool](`typeof axe === 'undefined'`)) {
		do(t, ctx, chromedp.Evaluate[chromedp.Void](axeScript))
	}
	return value(t, ctx, chromedp.Evaluate[axeResult](`axe.run(document, {`+only+`resultTypes: ['violations', 'passes']}).then(r => ({
		passes: r.passes.length,
		violations: r.violations.map(v => v.id + ': ' + v.help + ' – ' + v.nodes.slice(0, 3).map(n => n.html.slice(0, 160) + ' ' + (n.any[0] ? n.any[0].message : '')).join(' | '))}))`, chromedp.EvalAwaitPromise))
}

// clean fails the test if the page as it stands has a fault that the checker
// finds, or if the checker has found nothing to check.
func clean(t *testing.T, ctx context.Context, what string) {
	t.Helper()
	r := axe(t, ctx)
	spotless(t, r, what)
	if r.Passes < 10 {
		t.Errorf("%s: only %d checks passed: nothing was looked at", what, r.Passes)
	}
}

// darkIsClean looks at the page in the dark theme, which changes colours and no more.
func darkIsClean(t *testing.T, ctx context.Context, what string) {
	t.Helper()
	do(t, ctx, theme("dark"))
	r := axe(t, ctx, "color-contrast")
	spotless(t, r, what+" in the dark theme")
	if r.Passes != 1 {
		t.Errorf("%s in the dark theme: no colour was looked at", what)
	}
}

func spotless(t *testing.T, r axeResult, what string) {
	t.Helper()
	if len(r.Violations) > 0 {
		t.Errorf("%s: %s", what, strings.Join(r.Violations, "\n\t"))
	}
}
