package bot

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"shimwright/bot/fakediscord"
)

// BenchmarkMemory drives the real `shimwright serve`, a process of its own with
// its database, and reports the memory that it occupies (resident set, SQLite's
// included) after a sixth, a third, two thirds and all of many interactions: 25,
// 50, 100 and 150 thousand where it is run as below. 400 members in 25 servers
// plan, log test cuts, complete options, look at pictures and lists, fifty at a
// time. Goal: under 64 MiB after 100,000, and flat from then on.
//
//	go test ./bot -run '^$' -bench Memory -benchtime 150000x -timeout 1h
func BenchmarkMemory(b *testing.B) {
	if runtime.GOOS != "linux" {
		b.Skip("the resident set is read from /proc, which is Linux's")
	}
	s := &fakediscord.Server{ContractOff: true, History: 2000}
	if err := s.Start(); err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	status, log, stop := serveProcess(b, s.URL())
	defer stop()
	if err := s.WaitReady(context.Background()); err != nil {
		b.Fatal(err)
	}
	const servers, members = 25, 16
	turns, flight := make(chan struct{}), make(chan struct{}, 50)
	var wg sync.WaitGroup
	for i := range servers {
		hall := s.AddGuild("Class " + strconv.Itoa(i))
		for range members {
			u := s.AddUser("member")
			hall.Join(u)
			wg.Go(func() { busy(b, s, hall.Channel("bench"), u, turns, flight) })
		}
	}
	b.ResetTimer()
	for i := range b.N {
		flight <- struct{}{}
		turns <- struct{}{}
		switch n := i + 1; n {
		case b.N / 6, b.N / 3, b.N / 3 * 2, b.N:
			mib := resident(b, status)
			b.ReportMetric(mib, fmt.Sprintf("MiB-at-%d", n))
			b.Logf("%d interactions: %.1f MiB", n, mib)
		}
	}
	close(turns)
	wg.Wait()
	b.StopTimer()
	text, err := os.ReadFile(log)
	if err != nil {
		b.Fatal(err)
	}
	// On a machine with much else to do an answer may come too late.
	if n := strings.Count(string(text), "level=ERROR"); n > 0 {
		b.Logf("%d errors in the program's log:\n%.2000s", n, text)
	}
}

// busy is one member, who does one thing a turn.
func busy(b *testing.B, s *fakediscord.Server, bench *fakediscord.Channel, u *fakediscord.User, turns, flight <-chan struct{}) {
	var shown fakediscord.Message
	n := 0
	for range turns {
		n++
		var ia *fakediscord.Interaction
		switch {
		case n%24 == 1:
			ia = s.Command(u, bench, "stack", fakediscord.String("stock", "23/32"))
		case n%24 == 2:
			ia = s.Complete(u, bench, "stack", fakediscord.Focus(fakediscord.String("set", "st")))
		case n%24 == 3:
			ia = s.Command(u, s.DM(u), "setups")
		case n%120 == 4 && shown.ID != "":
			ia = s.Press(u, shown, shown.Button("Picture"))
		default:
			ia = s.Command(u, bench, "testcut", fakediscord.String("feel", []string{"tight", "snug", "loose"}[n%3]))
		}
		a, err := ia.Settled(context.Background())
		<-flight
		if err != nil && !errors.Is(err, fakediscord.ErrExpired) {
			b.Error(err)
			return
		}
		if err == nil && n%24 == 1 {
			shown = a.Message
		}
	}
}

// serveProcess builds the program and runs `shimwright serve` against a stand-in.
func serveProcess(b *testing.B, api string) (status, log string, stop func()) {
	b.Helper()
	dir := b.TempDir()
	program := filepath.Join(dir, "shimwright")
	if out, err := exec.Command("go", "build", "-o", program, "shimwright/cmd/shimwright").CombinedOutput(); err != nil {
		b.Fatalf("%v\n%s", err, out)
	}
	log = filepath.Join(dir, "log")
	to, err := os.Create(log)
	if err != nil {
		b.Fatal(err)
	}
	cmd := exec.Command(program, "serve", "--db", filepath.Join(dir, "shop.db"))
	cmd.Env = append(os.Environ(), "SHIMWRIGHT_TOKEN=any", "SHIMWRIGHT_DISCORD_API="+api)
	cmd.Stdout, cmd.Stderr = to, to
	if err := cmd.Start(); err != nil {
		b.Fatal(err)
	}
	return fmt.Sprintf("/proc/%d/status", cmd.Process.Pid), log, func() {
		_ = cmd.Process.Signal(os.Interrupt)
		if err := cmd.Wait(); err != nil {
			b.Error(err)
		}
		_ = to.Close()
	}
}

// resident is the resident set in MiB.
func resident(b *testing.B, status string) float64 {
	b.Helper()
	time.Sleep(time.Second) // what is in flight lands
	text, err := os.ReadFile(status)
	if err != nil {
		b.Fatal(err)
	}
	for line := range strings.Lines(string(text)) {
		if rest, ok := strings.CutPrefix(line, "VmRSS:"); ok {
			kib, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(rest), "kB")), 64)
			if err != nil {
				b.Fatal(err)
			}
			return kib / 1024
		}
	}
	b.Fatal("no VmRSS")
	return 0
}
