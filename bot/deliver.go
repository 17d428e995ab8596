package bot

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"time"
)

// What can become of an answer besides arriving.
var (
	errExpired     = errors.New("Discord has forgotten the interaction")
	errElsewhere   = errors.New("the interaction was answered already, not by us")
	errRefused     = errors.New("Discord refused the answer")
	errUndelivered = errors.New("the answer could not be delivered in time")
)

// delivery brings the answers of one interaction to Discord.
type delivery struct {
	rest   *rest
	in     *interaction
	lane   *lane
	until  time.Time // the first answer must have arrived by then
	dies   time.Time // and nothing can be added after this
	inline *inline   // HTTP mode: the first answer goes into the response
	blank  bool      // that was a deferral, which stands as an empty message

	settled bool // the wait for the response to be noted is over
}

// inline is a request that waits for its response.
type inline struct {
	answer  chan callback // takes one
	written chan struct{} // closed once it is on its way
}

// settling is how long Discord may take to note an answer that it got as a
// response; an edit that comes before is answered "unknown".
const settling = 300 * time.Millisecond

// callback sends the first answer. A try that failed may have landed all the
// same; the next one is then told "already answered", which is what was wanted.
func (d *delivery) callback(ctx context.Context, cb callback) error {
	if d.inline != nil {
		d.inline.answer <- cb
		select {
		case <-d.inline.written:
			return nil
		case <-time.After(time.Until(d.until)):
			return errUndelivered
		}
	}
	contentType, body, err := encode(cb, cb.files)
	if err != nil {
		return errors.Join(errRefused, err)
	}
	path := "/interactions/" + d.in.ID + "/" + d.in.Token + "/callback"
	for try := 0; ; try++ {
		left := time.Until(d.until)
		if left <= 0 || ctx.Err() != nil {
			return errUndelivered
		}
		once, cancel := context.WithTimeout(ctx, max(left/2, min(left, 200*time.Millisecond)))
		_, err := d.rest.do(once, d.lane, http.MethodPost, path, contentType, body)
		cancel()
		if err == nil {
			return nil
		}
		f := explain(err)
		switch {
		case f.code == 40060 && try > 0:
			return nil
		case f.code == 40060:
			return errElsewhere
		case f.status == http.StatusNotFound:
			return errExpired
		case f.lasting():
			return errors.Join(errRefused, f)
		}
		wait := max(f.retry, 20*time.Millisecond<<min(try, 4))
		if wait > time.Until(d.until) || sleep(ctx, wait) != nil {
			return errors.Join(errUndelivered, f)
		}
	}
}

// unfilled says whether a deferral that went out as a response is what the member
// sees, nil if so. Nobody tells whether a response was taken; where the same
// interaction went to another process too, which answered it first, filling in
// would write over that answer.
func (d *delivery) unfilled(ctx context.Context) error {
	if d.inline == nil || !d.blank {
		return nil
	}
	if err := d.settle(ctx); err != nil {
		return err
	}
	once, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	out, err := d.rest.do(once, d.lane, http.MethodGet, d.original(), "application/json", nil)
	if err != nil {
		if explain(err).status == http.StatusNotFound {
			return errExpired
		}
		return nil // it may well be
	}
	var m struct {
		Flags int `json:"flags"`
	}
	if json.Unmarshal(out, &m) == nil && m.Flags&flagLoading == 0 {
		return errElsewhere
	}
	return nil
}

// settle waits, once, until Discord has noted an answer that it got as a response.
func (d *delivery) settle(ctx context.Context) error {
	if d.inline == nil || d.settled {
		return nil
	}
	d.settled = true
	if sleep(ctx, settling) != nil {
		return errUndelivered
	}
	return nil
}

func (d *delivery) original() string {
	return "/webhooks/" + d.rest.app + "/" + d.in.Token + "/messages/@original"
}

// edit fills in an answer that was deferred. Editing twice does no harm, so it is
// repeated; a 404 is not.
func (d *delivery) edit(ctx context.Context, m message) error {
	m.Flags = 0 // settled by the deferral
	return d.webhook(ctx, http.MethodPatch, d.original(), m, 6)
}

// follow sends another message. It has no key against doubling: a try that failed
// may have landed all the same, unless it was a 429.
func (d *delivery) follow(ctx context.Context, m message, retries int) error {
	return d.webhook(ctx, http.MethodPost, "/webhooks/"+d.rest.app+"/"+d.in.Token, m, retries)
}

func (d *delivery) webhook(ctx context.Context, method, path string, m message, retries int) error {
	if err := d.settle(ctx); err != nil {
		return err
	}
	contentType, body, err := encode(m, m.files)
	if err != nil {
		return errors.Join(errRefused, err)
	}
	limited := 0
	for try := 0; ; try++ {
		once, cancel := context.WithTimeout(ctx, 10*time.Second)
		_, err := d.rest.do(once, d.lane, method, path, contentType, body)
		cancel()
		if err == nil {
			return nil
		}
		f := explain(err)
		switch {
		case f.status == http.StatusNotFound:
			return errExpired
		case f.lasting():
			return errors.Join(errRefused, f)
		case f.status == http.StatusTooManyRequests:
			if limited++; limited > 10 {
				return errors.Join(errUndelivered, f)
			}
			try--
		case try >= retries:
			return errors.Join(errUndelivered, f)
		}
		wait := max(f.retry, 100*time.Millisecond<<max(0, min(try, 5)))
		if wait > time.Until(d.dies) || sleep(ctx, wait) != nil {
			return errors.Join(errUndelivered, f)
		}
	}
}
