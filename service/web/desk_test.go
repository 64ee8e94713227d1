package web_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	logs "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"example.com/tailbound/service"
)

// patience is how long a test waits for something to appear; the machine may be busy.
const patience = 30 * time.Second

// chromium is the one browser of all tests, started by the first that needs it.
var chromium struct {
	once sync.Once
	// open gives a window that shares nothing with any other; nil when there is no browser.
	open func() (context.Context, context.CancelFunc)
	stop func()
	err  error
}

func TestMain(m *testing.M) {
	code := m.Run()
	if chromium.stop != nil {
		chromium.stop()
	}
	os.Exit(code)
}

// missing ends a test for which a tool is not there. On the machine that decides what may land it must be there.
func missing(tb testing.TB, what string) {
	tb.Helper()
	if os.Getenv("CI") == "true" {
		tb.Fatalf("%s is missing, and CI must not pass without it", what)
	}
	tb.Skipf("SKIPPED: %s is missing, so the page is not tested in a browser", what)
}

func startChromium() {
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if found, err := exec.LookPath(name); err == nil {
			path = found
			break
		}
	}
	if path == "" {
		chromium.err = errors.New("a Chromium browser")
		return
	}
	dir, err := os.MkdirTemp("", "tailbound-browser")
	if err != nil {
		chromium.err = err
		return
	}
	options := append(
		chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.UserDataDir(dir),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true),
	)
	allocator, free := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, cancel := chromedp.NewContext(allocator)
	chromium.open = func() (context.Context, context.CancelFunc) {
		return chromedp.NewContext(ctx, chromedp.WithNewBrowserContext())
	}
	chromium.stop = func() {
		cancel()
		free()
		// Children of the browser may still write for a moment.
		for range 50 {
			if os.RemoveAll(dir) == nil {
				return
			}
			time.Sleep(50 * time.Millisecond)
		}
	}
	chromium.err = chromedp.Do(ctx)
}

// desk is a person at the page: the real service on a port of its own, and a browser that has never been here before.
type desk struct {
	testing.TB
	ctx       context.Context //nolint:containedctx // The browser knows a window by its context.
	url       string
	stop      func()
	downloads string

	mutex    sync.Mutex
	troubles []string
}

// sit opens the page in a window of the size given, in the light or the dark.
func sit(tb testing.TB, width int64, scheme string) *desk {
	tb.Helper()
	if testing.Short() {
		tb.Skip("the browser is left out of short runs")
	}
	chromium.once.Do(startChromium)
	if chromium.open == nil {
		missing(tb, chromium.err.Error())
	}
	require.NoError(tb, chromium.err)
	d := &desk{TB: tb, downloads: tb.TempDir()}
	d.serve()
	ctx, cancel := chromium.open()
	tb.Cleanup(cancel)
	d.ctx = ctx
	d.do()
	require.NoError(tb, chromedp.Listen(ctx, d.hear))
	yes := true
	d.do(
		command(logs.Enable, cdp.Empty{}),
		command(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
			{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: "reduce"},
		}}),
		chromedp.EmulateViewport(width, 900),
	)
	_, err := chromedp.CallBrowser(ctx, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{
		Behavior: browser.SetDownloadBehaviorBehaviorAllow, DownloadPath: d.downloads, EventsEnabled: &yes,
		BrowserContextID: chromedp.FromContext(ctx).BrowserContextID,
	})
	require.NoError(tb, err)
	d.do(chromedp.Navigate(d.url))
	d.wait(`document.documentElement.dataset.ready === 'yes'`)
	return d
}

// serve starts the service. A port that is asked for stays the same when it is started again.
func (d *desk) serve() {
	o := service.DefaultOptions()
	o.GRPCAddr, o.HTTPAddr = "", "127.0.0.1:0"
	app, err := service.New(o)
	require.NoError(d, err)
	require.NoError(d, app.Start(context.Background()))
	var once sync.Once
	d.url = "http://" + app.HTTPAddr()
	d.stop = func() { once.Do(func() { require.NoError(d, app.Stop(context.Background())) }) }
	d.Cleanup(d.stop)
}

// hear keeps what the browser complains of: scripts that fail, and what the policy refused.
func (d *desk) hear(event any) {
	d.mutex.Lock()
	defer d.mutex.Unlock()
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		d.troubles = append(d.troubles, e.ExceptionDetails.Text)
	case *logs.EventEntryAdded:
		if e.Entry.Level == logs.EntryLevelError || e.Entry.Level == logs.EntryLevelWarning {
			d.troubles = append(d.troubles, e.Entry.Text+" "+e.Entry.URL)
		}
	}
}

// requireQuiet checks that the browser had nothing to complain of but what a test expects.
func (d *desk) requireQuiet(expected ...string) {
	d.Helper()
	d.mutex.Lock()
	defer d.mutex.Unlock()
	for _, trouble := range d.troubles {
		known := false
		for _, e := range expected {
			known = known || strings.Contains(trouble, e)
		}
		require.True(d, known, "the browser complains: %s", trouble)
	}
}

func command[P any](c cdp.Command[P, cdp.Empty], params P) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, c, params)
		return err
	})
}

func (d *desk) do(steps ...chromedp.Action[chromedp.Void]) {
	d.Helper()
	require.NoError(d, chromedp.Do(d.ctx, steps...))
}

// eval gives the value of an expression on the page; a promise is awaited.
func eval[T any](d *desk, expression string) T {
	d.Helper()
	v, err := chromedp.Run(d.ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	require.NoError(d, err, expression)
	return v
}

// wait polls until an expression holds.
func (d *desk) wait(expression string) {
	d.Helper()
	for end := time.Now().Add(patience); !eval[bool](d, "Boolean("+expression+")"); time.Sleep(15 * time.Millisecond) {
		if time.Now().After(end) {
			require.FailNow(d, "it did not come", "%s\nmessages on the page: %s", expression, d.messages())
		}
	}
}

func (d *desk) messages() string {
	return eval[string](d, `[...document.querySelectorAll('.message, .status')].map(m => m.textContent).filter(Boolean).join(' | ')`)
}

// text gives the text of what a selector finds.
func (d *desk) text(selector string) string {
	d.Helper()
	return eval[string](d, fmt.Sprintf(`document.querySelector(%s)?.textContent ?? ''`, quoted(selector)))
}

// click clicks what a selector finds, where it can be seen, as a mouse would.
func (d *desk) click(selector string) {
	d.Helper()
	d.do(chromedp.Click(chromedp.CSS(selector), chromedp.NodeVisible))
}

// write replaces what is in a field.
func (d *desk) write(selector, text string) {
	d.Helper()
	d.wait(fmt.Sprintf(`document.querySelector(%s)`, quoted(selector)))
	eval[any](d, fmt.Sprintf(`{const e = document.querySelector(%s); e.value = %s; for (const t of ['input', 'change']) e.dispatchEvent(new Event(t, {bubbles: true}));}`,
		quoted(selector), quoted(text)))
}

// choose hands a file to the input that a selector finds, as the dialog of the browser does.
func (d *desk) choose(selector, name string, content []byte) {
	d.Helper()
	path := filepath.Join(d.TempDir(), name)
	require.NoError(d, os.WriteFile(path, content, 0o600))
	d.do(chromedp.SetUploadFiles(chromedp.CSS(selector), []string{path}))
}

// drop lets go of a file over the page.
func (d *desk) drop(name string, content []byte) {
	d.Helper()
	eval[any](d, fmt.Sprintf(`{const data = new DataTransfer(); data.items.add(new File([%s], %s));
		document.getElementById('drop').dispatchEvent(new DragEvent('drop', {dataTransfer: data, bubbles: true, cancelable: true}));}`,
		quoted(string(content)), quoted(name)))
}

// downloaded waits for a file that the page hands out.
func (d *desk) downloaded(name string) []byte {
	d.Helper()
	path := filepath.Join(d.downloads, name)
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if content, err := os.ReadFile(path); err == nil && len(content) > 0 {
			return content
		}
	}
	require.FailNow(d, "no download", "%s; messages on the page: %s", name, d.messages())
	return nil
}

func quoted(text string) string {
	b, err := json.Marshal(text)
	if err != nil {
		panic(err)
	}
	return string(b)
}

func read(tb testing.TB, name string) []byte {
	tb.Helper()
	b, err := os.ReadFile(name)
	require.NoError(tb, err)
	return b
}
