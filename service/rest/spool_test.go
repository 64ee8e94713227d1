package rest

import (
	"bytes"
	"errors"
	"io"
	"math/rand/v2"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// TestSpoolKeepsOrder moves random pieces through every state of the spool: memory, file, both, and file limit.
func TestSpoolKeepsOrder(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(3, 4))
	s := newSpool(spoolLimits{memory: 64, file: 4096})
	var sent bytes.Buffer
	pieces := make([][]byte, 5000)
	for i := range pieces {
		pieces[i] = bytes.Repeat([]byte{byte('a' + i%26)}, random.IntN(100))
		sent.Write(pieces[i])
	}
	go func() {
		defer s.end()
		for _, p := range pieces {
			if s.put(p) != nil {
				t.Error("put failed")
			}
		}
	}()
	var got, buffer []byte
	for {
		b, _, err := s.take(buffer)
		require.NoError(t, err)
		if len(b) == 0 {
			break
		}
		got = append(got, b...)
		buffer = b
		if random.IntN(20) == 0 {
			time.Sleep(50 * time.Microsecond)
		}
	}
	require.Equal(t, sent.String(), string(got))
	require.NotNil(t, s.file, "the file was used")
	require.NoError(t, s.close())
	require.NoFileExists(t, s.file.Name())
}

func TestSpoolEndsPut(t *testing.T) {
	t.Parallel()
	s := newSpool(spoolLimits{memory: 1, file: 1})
	require.NoError(t, s.put([]byte("aa")))
	waits := make(chan error)
	go func() { waits <- s.put([]byte("bb")) }()
	select {
	case <-waits:
		t.Fatal("put did not wait for the full file")
	case <-time.After(10 * time.Millisecond):
	}
	s.end()
	require.ErrorIs(t, <-waits, errSpoolEnded)
	require.NoError(t, s.close())
}

func TestSpoolWithoutDisk(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir()+"/missing")
	s := newSpool(spoolLimits{memory: 1, file: 100})
	require.ErrorIs(t, s.put([]byte("aa")), os.ErrNotExist)
	require.NoError(t, s.close())
}

func TestLines(t *testing.T) {
	t.Parallel()
	const long = 100 << 10
	in := newLines(strings.NewReader("a\n\n \t\r\nb\r\n"+strings.Repeat("c", long)+"\n"+strings.Repeat("d", long+1)+"\ne"), long)
	for _, want := range []struct {
		text   string
		number int
	}{{"a", 1}, {"b", 4}, {strings.Repeat("c", long), 5}} {
		line, err := in.next()
		require.NoError(t, err)
		require.Equal(t, want.text, string(line))
		require.Equal(t, want.number, in.number)
	}
	_, err := in.next()
	require.ErrorIs(t, err, errLongLine)
	require.Equal(t, 6, in.number)
	line, err := in.next()
	require.NoError(t, err)
	require.Equal(t, "e", string(line))
	_, err = in.next()
	require.ErrorIs(t, err, io.EOF)

	broken := errors.New("broken")
	in = newLines(io.MultiReader(strings.NewReader(strings.Repeat("x", long+1)), failing{broken}), long)
	_, err = in.next()
	require.ErrorIs(t, err, broken, "a line too long does not hide that the body broke")
}

type failing struct{ err error }

func (f failing) Read([]byte) (int, error) { return 0, f.err }

func FuzzLines(f *testing.F) {
	f.Add([]byte("a\n\nb"), 3)
	f.Add([]byte("aaaa\nbb\r\n"), 3)
	f.Fuzz(func(t *testing.T, body []byte, longest int) {
		longest = max(1, min(longest, 1000))
		in := newLines(bytes.NewReader(body), longest)
		got := 0
		for {
			line, err := in.next()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				require.ErrorIs(t, err, errLongLine)
			}
			require.LessOrEqual(t, len(line), longest)
			got++
		}
		want := 0
		for part := range bytes.SplitSeq(body, []byte("\n")) {
			if len(bytes.TrimSpace(part)) > 0 || len(bytes.TrimRight(part, "\r")) > longest {
				want++
			}
		}
		require.Equal(t, want, got, "every line is answered once")
	})
}

// TestCompact: the spaces between tokens go, those in strings stay.
func TestCompact(t *testing.T) {
	t.Parallel()
	for given, want := range map[string]string{
		`{"a": 1, "b c": " \" , "}`: `{"a":1,"b c":" \" , "}`,
		`{"a":"\\", "b": "x y"}`:    `{"a":"\\","b":"x y"}`,
		``:                          ``,
	} {
		require.Equal(t, want, string(compact([]byte(given))))
	}
}

func TestAppendJSON(t *testing.T) {
	t.Parallel()
	got, err := AppendJSON([]byte("> "), &tailboundv1.Exceedance{Limit: 2})
	require.NoError(t, err)
	require.Equal(t, `> {"limit":2,"confidence":0,"estimate":0,"lower":0,"upper":0}`, string(got))
	got, err = AppendJSON([]byte("> "), &tailboundv1.Limit{Unit: "\xff"})
	require.Error(t, err)
	require.Equal(t, "> ", string(got))

	var request tailboundv1.AssessGroupRequest
	require.NoError(t, ParseJSON([]byte(` {"limitMethod": "LIMIT_METHOD_CALIBRATED"} `), &request))
	require.Equal(t, tailboundv1.LimitMethod_LIMIT_METHOD_CALIBRATED, request.GetLimitMethod())
}

func TestCodec(t *testing.T) {
	t.Parallel()
	_, err := codec{}.Marshal(7)
	require.ErrorIs(t, err, errNoMessage)
	require.ErrorIs(t, codec{}.Unmarshal(nil, 7), errNoMessage)
	var limit tailboundv1.Limit
	require.NoError(t, codec{}.NewDecoder(strings.NewReader(`{"value":3}`)).Decode(&limit))
	require.Equal(t, 3.0, limit.GetValue())
	require.Error(t, codec{}.NewDecoder(failing{io.ErrUnexpectedEOF}).Decode(&limit))
	var out bytes.Buffer
	require.NoError(t, codec{}.NewEncoder(&out).Encode(&limit))
	require.Equal(t, `{"value":3,"unit":""}`, out.String())
	require.Error(t, codec{}.NewEncoder(&out).Encode(7))
}

func TestWatchdog(t *testing.T) {
	t.Parallel()
	acted := make(chan struct{})
	w := newWatchdog(5*time.Millisecond, func() { close(acted) })
	<-acted
	w.stop()
	w = newWatchdog(time.Millisecond, func() { t.Error("acted after stop") })
	w.stop()
	w.touch()
	time.Sleep(3 * time.Millisecond)
	var none *watchdog
	none.touch()
	none.stop()
}
