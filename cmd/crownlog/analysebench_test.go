package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"crownlog/device"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// longTrace is a wheel rocked for rows hundredths of a second, one second from stop to
// stop, by a gauge of 0.001 mm whose last digit wavers.
func longTrace(rows int, each func(at time.Duration, mm float64)) {
	for i := range rows {
		s := 0.5 + 2*math.Sin(math.Pi*float64(i)/100) // cut off at the stops
		waver := float64(i*7919%5-2) / 2000
		each(time.Duration(i)*10*time.Millisecond, math.Round(1000*(0.16*min(max(s, 0), 1)+waver))/1000)
	}
}

// BenchmarkAnalyse computes the backlash of a long trace, of another program and of
// this one; the baseline is encoding/csv alone on the same bytes.
func BenchmarkAnalyse(b *testing.B) {
	const rows = 1_000_000
	dir := b.TempDir()
	var foreign bytes.Buffer
	foreign.WriteString("time,value,unit\n")
	folder, err := job.Create(filepath.Join(dir, "job"), sheet.ExampleTOML())
	require.NoError(b, err)
	readings, err := folder.Readings(record.StageAsFound, record.FeatureBacklash)
	require.NoError(b, err)
	longTrace(rows, func(at time.Duration, mm float64) {
		fmt.Fprintf(&foreign, "%.2f,%.3f,mm\n", at.Seconds(), mm)
		r := device.Reading{Time: traceStart.Add(at), Gauge: "indicator", Raw: fmt.Sprintf("%+.3f mm", mm), Value: mm, Unit: "mm"}
		require.NoError(b, readings.Record(device.Event{Kind: device.EventReading, Time: r.Time, Gauge: r.Gauge, Reading: r}))
	})
	require.NoError(b, readings.Close())
	require.NoError(b, folder.Close())
	path := filepath.Join(dir, "foreign.csv")
	require.NoError(b, os.WriteFile(path, foreign.Bytes(), 0o600))
	for name, path := range map[string]string{"foreign": path, "own": readings.Path()} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				require.Equal(b, exitOK, run(context.Background(), []string{"analyse", path}, nil, io.Discard, os.Stderr))
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/rows, "ns/row")
		})
		b.Run(name+"-baseline-encoding-csv", func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				file, err := os.Open(path)
				require.NoError(b, err)
				r := csv.NewReader(file)
				r.ReuseRecord = true
				for err == nil {
					_, err = r.Read()
				}
				require.ErrorIs(b, err, io.EOF)
				require.NoError(b, file.Close())
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/rows, "ns/row")
		})
	}
}
