// Gotest reads the output of go test -json on standard input and prints what a
// person wants of it: a line a package, the output of what failed, each skipped
// test with its reason, and last "N passed, N failed, N skipped", subtests
// included. With -skips=fail a skip is a failure: a test that needs a tool must
// find it here. It exits 1 on a failure, and where no test ran.
package main

import (
	"bufio"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"strings"
)

// event is one line of the output, as "go doc test2json" describes it.
type event struct {
	Action  string
	Package string
	Test    string
	Output  string
}

func main() {
	skips := flag.String("skips", "allow", "allow or fail")
	flag.Parse()

	type test struct{ pkg, name string }
	output := map[test]string{}
	var passed, failed int
	broken := map[string]bool{} // packages with a failed test
	var skipped []string

	lines := bufio.NewReader(os.Stdin)
	for {
		line, err := lines.ReadBytes('\n')
		if len(line) == 0 && err != nil {
			break
		}
		var e event
		if json.Unmarshal(line, &e) != nil {
			fmt.Print(string(line)) // a complaint of the go command itself
			continue
		}
		t := test{e.Package, e.Test}
		switch {
		case e.Action == "build-output":
			fmt.Print(e.Output)
		case e.Action == "output" && e.Test == "":
			if e.Output != "PASS\n" {
				fmt.Print(e.Output)
			}
		case e.Action == "output":
			output[t] += e.Output
		case e.Test == "":
			if e.Action == "fail" && !broken[e.Package] { // it did not build, or its TestMain failed
				failed++
			}
		case e.Action == "pass":
			passed++
			delete(output, t)
		case e.Action == "fail":
			failed++
			broken[e.Package] = true
			fmt.Print(output[t])
			delete(output, t)
		case e.Action == "skip":
			skipped = append(skipped, fmt.Sprintf("SKIP %s %s\n%s", e.Package, e.Test, output[t]))
			delete(output, t)
		}
	}
	for t, text := range output { // these never ended: a panic or a time-out
		fmt.Printf("UNFINISHED %s %s\n%s", t.pkg, t.name, text)
		failed++
	}
	fmt.Print(strings.Join(skipped, ""))
	if *skips == "fail" && len(skipped) > 0 {
		fmt.Printf("%d skipped, and nothing may be skipped here: each counts as failed\n", len(skipped))
		failed += len(skipped)
		skipped = nil
	}
	fmt.Printf("%d passed, %d failed, %d skipped\n", passed, failed, len(skipped))
	if failed > 0 || passed == 0 {
		os.Exit(1)
	}
}
