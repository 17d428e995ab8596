package bot

import (
	"bytes"
	"image"
	"image/png"

	dto "github.com/prometheus/client_model/go"
	"github.com/prometheus/common/expfmt"
)

// tinyPNG is a picture of one pixel.
var tinyPNG = func() []byte {
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, 1, 1))); err != nil {
		panic(err)
	}
	return b.Bytes()
}()

// exposition is the Prometheus text form of some metrics.
func exposition(families []*dto.MetricFamily) string {
	var b bytes.Buffer
	e := expfmt.NewEncoder(&b, expfmt.NewFormat(expfmt.TypeTextPlain))
	for _, f := range families {
		if err := e.Encode(f); err != nil {
			return err.Error()
		}
	}
	return b.String()
}
