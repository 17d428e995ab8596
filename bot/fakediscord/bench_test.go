package fakediscord_test

import (
	"io"
	"net/http"
	"strings"
	"testing"

	"github.com/gorilla/websocket"

	"shimwright/bot/fakediscord"
)

// BenchmarkRoundTrip is one interaction from dispatch to its accepted answer,
// with the contract and without, so that a benchmark of a bot can tell its own
// time from the stand-in's.
func BenchmarkRoundTrip(b *testing.B) {
	for name, off := range map[string]bool{"contract": false, "bare": true} {
		b.Run(name, func(b *testing.B) {
			s := &fakediscord.Server{ContractOff: off, History: 1000}
			if err := s.Start(); err != nil {
				b.Fatal(err)
			}
			defer s.Close()
			mira := s.AddUser("mira")
			bench := s.AddGuild("Hall").Channel("bench")
			ws, res, err := websocket.DefaultDialer.Dial("ws"+strings.TrimPrefix(s.URL(), "http")+"/?v=9", nil)
			if err != nil {
				b.Fatal(err)
			}
			_ = res.Body.Close()
			defer func() { _ = ws.Close() }()
			if err := ws.WriteJSON(map[string]any{"op": 2, "d": map[string]any{"token": "x", "intents": 0, "properties": map[string]string{}}}); err != nil {
				b.Fatal(err)
			}
			for range 2 {
				if _, _, err := ws.ReadMessage(); err != nil {
					b.Fatal(err)
				}
			}
			client := &http.Client{Transport: &http.Transport{}}
			defer client.CloseIdleConnections()
			answer := row(`{"type":2,"style":1,"label":"Too loose","custom_id":"1:loose"}`)
			b.ReportAllocs()
			for b.Loop() {
				ia := s.Command(mira, bench, "stack", fakediscord.String("stock", "23/32"))
				if _, _, err := ws.ReadMessage(); err != nil {
					b.Fatal(err)
				}
				req, err := http.NewRequestWithContext(b.Context(), http.MethodPost,
					s.URL()+"/api/v9/interactions/"+ia.ID+"/"+ia.Token+"/callback", strings.NewReader(answer))
				if err != nil {
					b.Fatal(err)
				}
				req.Header.Set("Content-Type", "application/json")
				req.Header.Set("User-Agent", "DiscordBot (https://example.invalid, 1)")
				res, err := client.Do(req)
				if err != nil {
					b.Fatal(err)
				}
				_, _ = io.Copy(io.Discard, res.Body)
				_ = res.Body.Close()
				if ia.Answers() != 1 {
					b.Fatal("not answered")
				}
			}
		})
	}
}
