package bot

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"sync/atomic"
	"time"

	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// health serves /healthz (the process runs), /readyz (members get answers) and
// /metrics. A nil server is one that was not asked for.
type health struct {
	server *http.Server
	isUp   atomic.Bool
	done   chan struct{}
}

func startHealth(cfg Config, m *metrics) (*health, error) {
	h := &health{done: make(chan struct{})}
	if cfg.HealthAddr == "" {
		close(h.done)
		return h, nil
	}
	l, err := net.Listen("tcp", cfg.HealthAddr)
	if err != nil {
		return nil, &Fatal{Code: ExitConfig, Fix: fmt.Sprintf("the health address %q cannot be used: %v", cfg.HealthAddr, err)}
	}
	h.server = &http.Server{Handler: h.handler(m), ReadHeaderTimeout: 5 * time.Second}
	go func() {
		defer close(h.done)
		if err := h.server.Serve(l); !errors.Is(err, http.ErrServerClosed) {
			cfg.Log.Error("the health server stopped", "error", err)
		}
	}()
	return h, nil
}

func (h *health) handler(m *metrics) http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, _ *http.Request) { fmt.Fprintln(w, "ok") })
	mux.HandleFunc("GET /readyz", func(w http.ResponseWriter, _ *http.Request) {
		if !h.isUp.Load() {
			http.Error(w, "not connected to Discord", http.StatusServiceUnavailable)
			return
		}
		fmt.Fprintln(w, "ready")
	})
	mux.Handle("GET /metrics", promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{}))
	return mux
}

func (h *health) ready(up bool) { h.isUp.Store(up) }

func (h *health) stop() {
	if h.server != nil {
		ctx, cancel := context.WithTimeout(context.Background(), 2*time.Second)
		defer cancel()
		_ = h.server.Shutdown(ctx)
	}
	<-h.done
}
