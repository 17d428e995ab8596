package bot

import (
	"time"

	"github.com/prometheus/client_golang/prometheus"
)

// metrics are the adapter's counters. Labels are ours alone: nothing that a
// member typed becomes one.
type metrics struct {
	registry     *prometheus.Registry
	interactions *prometheus.CounterVec
	latency      prometheus.Histogram
	deferred     prometheus.Counter
	connects     *prometheus.CounterVec
	abandoned    prometheus.Counter
}

func newMetrics(reg *prometheus.Registry) *metrics {
	m := &metrics{
		registry: reg,
		interactions: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "shimwright_interactions_total", Help: "Interactions by command and outcome.",
		}, []string{"command", "outcome"}),
		latency: prometheus.NewHistogram(prometheus.HistogramOpts{
			Name: "shimwright_answer_seconds", Help: "From an interaction's arrival to its first answer, a deferral included.",
			Buckets: []float64{0.002, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 1.5, 2, 3},
		}),
		deferred: prometheus.NewCounter(prometheus.CounterOpts{
			Name: "shimwright_deferred_total", Help: "Interactions deferred because their handler was still busy.",
		}),
		connects: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "shimwright_gateway_connects_total", Help: "Gateway connections by how they began: identify, resume or failed.",
		}, []string{"how"}),
		abandoned: prometheus.NewCounter(prometheus.CounterOpts{
			Name: "shimwright_gateway_abandoned_total", Help: "Gateway sessions given up because they hung.",
		}),
	}
	reg.MustRegister(m.interactions, m.latency, m.deferred, m.connects, m.abandoned)
	return m
}

func (m *metrics) count(command, outcome string) {
	m.interactions.WithLabelValues(command, outcome).Inc()
}

func (m *metrics) answered(arrived time.Time) {
	m.latency.Observe(time.Since(arrived).Seconds())
}
