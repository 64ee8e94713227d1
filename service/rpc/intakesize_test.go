package rpc

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// A file made to be hard to read costs time and an answer in proportion to its size: each takes some tenths of a second on one
// core, and would take minutes if the time grew with the square. The limit is for a machine that does much else.
func TestHardFiles(t *testing.T) {
	t.Parallel()
	var wide bytes.Buffer
	for i := range 100_000 {
		fmt.Fprintf(&wide, "c%d,", i)
	}
	for name, text := range map[string]string{
		"wide":         "time," + wide.String() + "\n" + strings.Repeat("2026-03-09 07:30"+strings.Repeat(",", 100_001)+"\n", 5),
		"wide results": "zone,agent,result,unit," + wide.String() + "\na,b,1,ppm" + strings.Repeat(",", 100_001) + "\n",
		"open quotes":  "zone,agent,result,unit\n" + strings.Repeat("\"a,b\n", 100_000),
		"long quotes":  "zone,agent,result,unit\n" + strings.Repeat("\"a,b"+strings.Repeat("\"\"", 1<<14)+"\n", 30),
		"long names":   "time,zone" + strings.Repeat("x", 900_000) + "\n" + strings.Repeat("2026-03-09 07:30,x\n", 1000),
		"long cells":   "zone,agent,result,unit\n" + strings.Repeat("a,b,"+strings.Repeat("x", 9000)+",ppm\n", 100),
		"dates":        "zone,agent,result,unit,start\n" + strings.Repeat("a,b,1,ppm,3/4/2026\n", 60_000),
	} {
		t.Run(name, func(t *testing.T) {
			began := time.Now()
			results, _ := readResults(&tailboundv1.ReadResultsRequest{Content: []byte(text)})
			log, _ := readLog(&tailboundv1.ReadLogRequest{Content: []byte(text)})
			require.Less(t, time.Since(began), 20*time.Second)
			require.Less(t, proto.Size(results)+proto.Size(log), 12*len(text)+1000)
		})
	}
}
