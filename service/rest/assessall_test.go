package rest_test

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"net"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/rest"
)

const assessAll = "/v1/groups:assessAll"

// line is one line of an answer, as a client would read it.
type line struct {
	Index  *int
	Result *struct {
		Name   string
		Sample struct{ Readings int }
	}
	Error *problem
	End   *struct{ Answered int }
}

func parse(t *testing.T, body string) []line {
	t.Helper()
	var lines []line
	for text := range strings.Lines(body) {
		var l line
		require.NoError(t, json.Unmarshal([]byte(text), &l), text)
		require.True(t, strings.HasSuffix(text, "\n"))
		lines = append(lines, l)
	}
	return lines
}

// wanted are the codes of the answers that a body must get, 0 for a result.
func requireAnswers(t *testing.T, body string, wanted ...int) []line {
	t.Helper()
	lines := parse(t, body)
	require.Len(t, lines, len(wanted)+1)
	for i, code := range wanted {
		require.Equal(t, i, *lines[i].Index)
		require.Nil(t, lines[i].End)
		if code == 0 {
			require.NotNil(t, lines[i].Result)
			continue
		}
		require.Nil(t, lines[i].Result)
		require.Equal(t, code, lines[i].Error.Code)
	}
	require.Equal(t, &struct{ Answered int }{len(wanted)}, lines[len(wanted)].End)
	return lines
}

// TestAssessAll: every line is answered in its place and no line ends the stream.
func TestAssessAll(t *testing.T) {
	t.Parallel()
	s := whole(t)
	long := `{"name":"` + strings.Repeat("x", 70<<10) + `"}`
	// Few bytes as JSON, too many as a message: each band takes 2 bytes here and 8 there.
	wide := `{"bands":[` + strings.Repeat("1,", 20<<10) + `1]}`
	for _, c := range []struct {
		name, body string
		wanted     []int
	}{
		{"nothing", "", nil},
		{"blank lines only", "\n \r\n\n", nil},
		{"one without newline", three, []int{0}},
		{"blank lines and line ends", "\n" + three + "\r\n\n" + three + "\n\n", []int{0, 0}},
		{"malformed", three + "\n{\"readings\":[\n" + three + "\n", []int{0, 3, 0}},
		{"malformed last", three + "\n{", []int{0, 3}},
		{"unknown field", `{"readingz":[]}` + "\n" + three, []int{3, 0}},
		{"two objects on a line", three + three + "\n" + three, []int{3, 0}},
		{"invalid group", `{"readings":[{"value":-1}]}` + "\n" + three, []int{3, 0}},
		{"rule that does not apply", three[:len(three)-1] + `,"rule":"RULE_GROUP_AND_SUBJECT"}` + "\n" + three, []int{0, 0}},
		{"long line", three + "\n" + long + "\n" + three, []int{0, 8, 0}},
		{"long last line", three + "\n" + long, []int{0, 8}},
		{"wide message", three + "\n" + wide + "\n" + three, []int{0, 8, 0}},
		{"bad lines only", "{\n[\n7\nnull\n", []int{3, 3, 3, 3}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			a := s.do(t, http.MethodPost, assessAll, c.body)
			require.Equal(t, http.StatusOK, a.code)
			require.Equal(t, "application/x-ndjson", a.header.Get("Content-Type"))
			requireAnswers(t, a.body, c.wanted...)
		})
	}
}

func TestAssessAllSaysWhere(t *testing.T) {
	t.Parallel()
	body := strings.Join([]string{three, "", `{"readings":[{"value":1}],"certainty":1}`, `{"readings":[{"value":1},{}],"limit":{}}`}, "\n")
	lines := requireAnswers(t, whole(t).do(t, http.MethodPost, assessAll, body).body, 0, 3, 3)
	require.Equal(t, `line 3: not the JSON that this call takes: (column 27): unknown field "certainty"`, lines[1].Error.Message)
	fields := lines[2].Error.Details[0].FieldViolations
	require.Equal(t, "limit.value", fields[0].Field)
	require.Equal(t, "readings[1]", fields[1].Field, "the path is inside the group")
}

// TestNeverShort sends many long bodies, whole and in chunks, with and without a bad last line. The stock mapping answered
// most such calls with fewer lines than it was sent and no error. Every body must be answered in full.
func TestNeverShort(t *testing.T) {
	t.Parallel()
	calls, lines := 75, 2000
	if testing.Short() {
		calls = 3
	}
	// The service only echoes names, so that the time goes into transport; the tests below run the real one.
	s := newStack(t, rest.Options{MaxMessageBytes: 64 << 10, StreamIdleTimeout: time.Minute}, func(g *grpc.Server) {
		tailboundv1.RegisterAssessmentServiceServer(g, brittle{answers: math.MaxInt})
	})
	good := neverShortBody(lines)
	for _, c := range []struct {
		name    string
		chunked bool
		last    string
		code    int
	}{
		{"whole", false, three, 0},
		{"chunked", true, three, 0},
		{"whole, bad last line", false, `{"oops":1}`, 3},
		{"chunked, bad last line", true, `{"readings":`, 3},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			for range calls {
				var body io.Reader = strings.NewReader(good + c.last)
				if c.chunked {
					body = struct{ io.Reader }{body}
				}
				response, err := s.client.Post(s.url+assessAll, "", body)
				require.NoError(t, err)
				require.Equal(t, http.StatusOK, response.StatusCode)
				requireWhole(t, response.Body, lines, c.code)
				require.NoError(t, response.Body.Close())
			}
		})
	}
}

// neverShortBody has one line fewer than lines.
func neverShortBody(lines int) string {
	var b strings.Builder
	for i := range lines - 1 {
		fmt.Fprintf(&b, `{"name":"%d","readings":[{"value":1}]}`+"\n", i)
	}
	return b.String()
}

// requireWhole checks the order by the names and the indexes without the cost of parsing every answer.
func requireWhole(t *testing.T, body io.Reader, lines, lastCode int) {
	t.Helper()
	in := bufio.NewScanner(body)
	in.Buffer(nil, 1<<20)
	for i := range lines {
		require.True(t, in.Scan(), "answer %d of %d: %v", i, lines, in.Err())
		start := fmt.Sprintf(`{"index":%d,"result":{"name":"%d",`, i, i)
		if i == lines-1 {
			start = fmt.Sprintf(`{"index":%d,"result":{"name":"",`, i)
			if lastCode != 0 {
				start = fmt.Sprintf(`{"index":%d,"error":{"code":%d,`, i, lastCode)
			}
		}
		require.True(t, strings.HasPrefix(in.Text(), start), "answer %d: %.80s", i, in.Text())
	}
	require.True(t, in.Scan())
	require.Equal(t, fmt.Sprintf(`{"end":{"answered":%d}}`, lines), in.Text())
	require.False(t, in.Scan())
	require.NoError(t, in.Err())
}

// TestSendAllThenRead is a client that reads nothing before it has sent everything, as many do. Without the spool the two
// sides would wait for each other as soon as the answers fill the buffers of the connection.
func TestSendAllThenRead(t *testing.T) {
	t.Parallel()
	s := whole(t)
	conn, err := net.Dial("tcp", s.http.Listener.Addr().String())
	require.NoError(t, err)
	defer conn.Close()
	require.NoError(t, conn.(*net.TCPConn).SetReadBuffer(64<<10))
	require.NoError(t, conn.(*net.TCPConn).SetWriteBuffer(64<<10))
	require.NoError(t, conn.SetDeadline(time.Now().Add(time.Minute)))
	const lines = 4000
	// The body too must be larger than what the kernel and the pipeline hold.
	body := strings.ReplaceAll(neverShortBody(lines), `"value"`, `"zone":"`+strings.Repeat("z", 200)+`","value"`) + three
	_, err = fmt.Fprintf(conn, "POST %s HTTP/1.1\r\nHost: x\r\nContent-Length: %d\r\n\r\n%s", assessAll, len(body), body)
	require.NoError(t, err)
	response, err := http.ReadResponse(bufio.NewReader(conn), nil)
	require.NoError(t, err)
	defer response.Body.Close()
	requireWhole(t, response.Body, lines, 0)
}

// TestAnswersComeAtOnce: a client may wait for each answer before it sends the next group.
func TestAnswersComeAtOnce(t *testing.T) {
	t.Parallel()
	s := whole(t)
	body, lines := io.Pipe()
	answered := make(chan struct{})
	go func() {
		for range 20 {
			_, _ = io.WriteString(lines, three+"\n")
			<-answered
		}
		_ = lines.Close()
	}()
	response, err := s.client.Post(s.url+assessAll, "", body)
	require.NoError(t, err)
	defer response.Body.Close()
	in := bufio.NewReader(response.Body)
	for range 20 {
		text, err := in.ReadString('\n')
		require.NoError(t, err)
		require.Contains(t, text, `"result"`)
		answered <- struct{}{}
	}
	rest, err := io.ReadAll(in)
	require.NoError(t, err)
	require.Equal(t, `{"end":{"answered":20}}`+"\n", string(rest))
}

// TestClientsThatLeave cuts connections at any moment. The check for goroutines left behind is in TestMain.
func TestClientsThatLeave(t *testing.T) {
	t.Parallel()
	s := whole(t)
	body := neverShortBody(500) + three
	random := rand.New(rand.NewPCG(1, 2))
	var clients sync.WaitGroup
	for range 40 {
		cut, wait := random.IntN(len(body)), time.Duration(random.IntN(3))*time.Millisecond
		clients.Go(func() {
			conn, err := net.Dial("tcp", s.http.Listener.Addr().String())
			if err != nil {
				t.Error(err)
				return
			}
			_, _ = fmt.Fprintf(conn, "POST %s HTTP/1.1\r\nHost: x\r\nContent-Length: %d\r\n\r\n%s", assessAll, len(body), body[:cut])
			time.Sleep(wait)
			_ = conn.Close()
		})
	}
	clients.Wait()
	// The service is as good as before.
	requireAnswers(t, s.do(t, http.MethodPost, assessAll, three).body, 0)
}

// TestCutBody: a body that ends before its length gets no end line.
func TestCutBody(t *testing.T) {
	t.Parallel()
	s := whole(t)
	conn, err := net.Dial("tcp", s.http.Listener.Addr().String())
	require.NoError(t, err)
	defer conn.Close()
	_, err = fmt.Fprintf(conn, "POST %s HTTP/1.1\r\nHost: x\r\nContent-Length: 1000\r\n\r\n%s\n", assessAll, three)
	require.NoError(t, err)
	in := bufio.NewReader(conn)
	response, err := http.ReadResponse(in, nil)
	require.NoError(t, err)
	require.Equal(t, http.StatusOK, response.StatusCode)
	require.NoError(t, conn.(*net.TCPConn).CloseWrite())
	got, err := io.ReadAll(response.Body)
	require.Error(t, err, "the body of the answer is cut too")
	require.NotContains(t, string(got), `"end"`)
}

func TestSlowSender(t *testing.T) {
	t.Parallel()
	s := whole(t, func(o *rest.Options) { o.StreamIdleTimeout = time.Second })
	body, lines := io.Pipe()
	go func() {
		for piece := range strings.SplitSeq(three+"|\n|"+three[:20]+"|"+three[20:]+"|\n|"+three, "|") {
			time.Sleep(20 * time.Millisecond)
			_, _ = io.WriteString(lines, piece)
		}
		_ = lines.Close()
	}()
	response, err := s.client.Post(s.url+assessAll, "", body)
	require.NoError(t, err)
	defer response.Body.Close()
	got, err := io.ReadAll(response.Body)
	require.NoError(t, err)
	requireAnswers(t, string(got), 0, 0, 0)
}

// TestIdleSender: a stream on which nothing moves is ended, in words and without an end line.
func TestIdleSender(t *testing.T) {
	t.Parallel()
	s := whole(t, func(o *rest.Options) { o.StreamIdleTimeout = 100 * time.Millisecond })
	body, lines := io.Pipe()
	go func() { _, _ = io.WriteString(lines, three+"\n") }()
	response, err := s.client.Post(s.url+assessAll, "", body)
	require.NoError(t, err)
	defer response.Body.Close()
	got, err := io.ReadAll(response.Body)
	require.Error(t, err)
	require.Contains(t, string(got), "nothing moved on the stream for 100ms")
	require.NotContains(t, string(got), `"end"`)
	require.NoError(t, lines.CloseWithError(errors.New("done")))

	// Before any answer the status says it.
	silent, open := io.Pipe()
	response, err = s.client.Post(s.url+assessAll, "", silent)
	require.NoError(t, err)
	defer response.Body.Close()
	require.Equal(t, http.StatusGatewayTimeout, response.StatusCode)
	require.NoError(t, open.CloseWithError(errors.New("done")))
}

// brittle is a service whose streams end after some answers, with or without an error.
type brittle struct {
	tailboundv1.UnimplementedAssessmentServiceServer
	answers int
	err     error
}

func (b brittle) AssessGroups(stream grpc.BidiStreamingServer[tailboundv1.AssessGroupsRequest, tailboundv1.AssessGroupsResponse]) error {
	for range b.answers {
		r, err := stream.Recv()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		result := &tailboundv1.AssessGroupsResponse_Result{Result: &tailboundv1.AssessGroupResponse{Name: r.GetGroup().GetName()}}
		if err := stream.Send(&tailboundv1.AssessGroupsResponse{Answer: result}); err != nil {
			return err
		}
	}
	return b.err
}

// TestServiceThatFails: when the service ends the stream early, the client sees a status or a cut, never a short 200.
func TestServiceThatFails(t *testing.T) {
	t.Parallel()
	body := neverShortBody(2000) + three
	for _, c := range []struct {
		service brittle
		text    string
	}{
		{brittle{answers: 0, err: status.Error(codes.Unavailable, "draining")}, "draining"},
		{brittle{answers: 0}, "does not match"},
		{brittle{answers: 1, err: status.Error(codes.Unavailable, "draining")}, "draining"},
		{brittle{answers: 700, err: status.Error(codes.Internal, "broken")}, "broken"},
		{brittle{answers: 700}, "does not match"},
		{brittle{answers: 2000, err: status.Error(codes.Internal, "broken")}, "broken"},
	} {
		t.Run(fmt.Sprint(c.service.answers, c.service.err), func(t *testing.T) {
			t.Parallel()
			s := newStack(t, rest.Options{MaxMessageBytes: 64 << 10}, func(g *grpc.Server) {
				tailboundv1.RegisterAssessmentServiceServer(g, c.service)
			})
			for range 5 {
				response, err := s.client.Post(s.url+assessAll, "", strings.NewReader(body))
				if err != nil {
					// The cut reached the client while it was still sending.
					continue
				}
				got, err := io.ReadAll(response.Body)
				require.NoError(t, response.Body.Close())
				require.NotContains(t, string(got), `"end"`)
				if response.StatusCode == http.StatusOK {
					require.Error(t, err)
					require.LessOrEqual(t, strings.Count(string(got), `"result"`), c.service.answers)
					continue
				}
				require.Contains(t, string(got), c.text)
				require.True(t, response.Close, "the rest of the body must not become the next request")
			}
		})
	}
}

// TestAssessAllOverHTTP2 uses a protocol that is in full duplex by nature.
func TestAssessAllOverHTTP2(t *testing.T) {
	t.Parallel()
	s := whole(t)
	secure := secured(t, s)
	response, err := secure.Client().Post(secure.URL+assessAll, "", strings.NewReader(neverShortBody(2000)+three))
	require.NoError(t, err)
	defer response.Body.Close()
	require.Equal(t, 2, response.ProtoMajor)
	requireWhole(t, response.Body, 2000, 0)
}
