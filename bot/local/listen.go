package local

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"strconv"
	"syscall"
	"time"
)

// Listen opens a TCP address of this machine alone, such as "127.0.0.1:8099";
// port 0 takes a free one. Its errors are one line, meant for the person who
// typed the address.
func Listen(addr string) (net.Listener, error) {
	host, portText, err := net.SplitHostPort(addr)
	port, portErr := strconv.ParseUint(portText, 10, 16)
	if err != nil || portErr != nil {
		return nil, fmt.Errorf("%q is not an address with a port; write one such as 127.0.0.1:8099", addr)
	}
	ip := net.ParseIP(host)
	if host == "localhost" {
		ip = net.IPv4(127, 0, 0, 1)
	}
	if !ip.IsLoopback() {
		return nil, fmt.Errorf("%q could be reached from other machines, and this page has no passwords; write an address such as 127.0.0.1:8099", addr)
	}
	l, err := net.ListenTCP("tcp", &net.TCPAddr{IP: ip, Port: int(port)})
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, fmt.Errorf("%s is in use; choose another with -addr", addr)
	case errors.Is(err, syscall.EACCES):
		return nil, fmt.Errorf("%s may not be opened by this account; choose a port above 1023 with -addr", addr)
	case err != nil:
		return nil, fmt.Errorf("cannot listen on %s: %w", addr, err)
	}
	return l, nil
}

// Serve answers on l until ctx ends; then it lets the requests that are being
// answered finish. It can be called once.
func (p *Page) Serve(ctx context.Context, l net.Listener) error {
	server := &http.Server{
		Handler:           p,
		ReadHeaderTimeout: 5 * time.Second,
		MaxHeaderBytes:    64 << 10,
	}
	// The event streams never finish by themselves.
	server.RegisterOnShutdown(func() { close(p.stop) })

	failed := make(chan error, 1)
	go func() { failed <- server.Serve(l) }()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	}
	grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer cancel()
	return server.Shutdown(grace)
}
