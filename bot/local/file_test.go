package local

import (
	"testing"

	"shimwright/commands"
)

// A file is there to be saved for those who see its message, and for nobody else.
func TestFiles(t *testing.T) {
	s := open(t, nil)
	report := commands.File{Name: "report <1>.csv", Type: "text/csv; charset=utf-8", Alt: "The report", Data: []byte("who,setups\n")}
	s.page.post(message{from: wren, said: "/report"}, commands.Reply{Text: "Here", Private: true, Files: []commands.File{report}}, nil)
	wants(t, s.see(wren), []string{`download="report &lt;1&gt;.csv"`, "The report", personPath(wren) + "/file/1/0"}, nil)
	wants(t, s.see(tobit), nil, []string{"report"})
	for _, c := range []struct {
		who  Person
		path string
		want int
	}{
		{wren, "/file/1/0", 200},
		{tobit, "/file/1/0", 404},
		{wren, "/file/1/1", 404},
		{wren, "/file/1/-1", 404},
		{wren, "/file/9/0", 404},
	} {
		code, body, h := s.do("GET", personPath(c.who)+c.path, nil)
		saved := body == "who,setups\n" && h.Get("Content-Type") == report.Type && h.Get("Content-Disposition") == `attachment; filename="report <1>.csv"`
		if code != c.want || (code == 200) != saved {
			t.Errorf("%s %s: %d %q %v", c.who.Name, c.path, code, body, h)
		}
	}
}
