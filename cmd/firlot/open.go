package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"os/exec"
	"runtime"
	"time"

	"github.com/spf13/cobra"

	"firlot/internal/store"
	"firlot/internal/store/sqlite"
	"firlot/internal/web"
)

// usualAddr is where the app listens unless told otherwise.
const usualAddr = "127.0.0.1:4680"

func openCommand(s streams) *cobra.Command {
	var o openOptions
	var noBrowser bool
	c := &cobra.Command{
		Use:   "open",
		Short: "Use Firlot in a browser on this machine",
		Long: `Starts the local app and opens it in a browser. It answers this machine only,
loads nothing from elsewhere, and keeps everything in one folder. Stop it with
Ctrl-C.

With --share, other devices of the home network may come in too, such as a
phone at the scale: each one by a code that is good once and for two minutes.
Plain sharing is not encrypted, so whoever listens in the same Wi-Fi can read
along; --share=tls encrypts with a certificate made here, whose fingerprint you
compare.`,
		Example: `  firlot open
  firlot open --data ./my-firlot --no-browser
  firlot open --share
  firlot open --share=tls`,
		Args: takes(0, 0),
		RunE: func(cmd *cobra.Command, _ []string) error {
			o.asked, o.browser = cmd.Flags().Changed("addr"), !noBrowser
			return openApp(cmd.Context(), s, o)
		},
	}
	c.Flags().StringVar(&o.addr, "addr", usualAddr, "address and port of this machine to listen on; port 0 takes a free one")
	c.Flags().StringVar(&o.dir, "data", "", "folder to keep everything in (default: the platform's place for data)")
	c.Flags().StringVar(&o.share, "share", "", "let other devices of the home network in: plain or tls")
	c.Flags().Lookup("share").NoOptDefVal = string(web.SharePlain)
	c.Flags().StringVar(&o.shareAddr, "share-addr", "", "address of this machine to share on, with or without a port (default: its private addresses, port 4681)")
	c.Flags().BoolVar(&noBrowser, "no-browser", false, "print the address and open nothing")
	return c
}

type openOptions struct {
	addr      string
	asked     bool // the address was given
	dir       string
	browser   bool
	share     string // "", plain or tls
	shareAddr string
}

func openApp(ctx context.Context, s streams, o openOptions) error {
	sharing, err := o.sharing()
	if err != nil {
		return err
	}
	kept, err := openStore(ctx, sharing.Dir)
	if err != nil {
		return err
	}
	defer kept.Close()
	listener, err := listen(o.addr, o.asked)
	if err != nil {
		return err
	}
	defer listener.Close()
	app, err := newApp(kept, listener.Addr().String(), sharing, s.err)
	if err != nil {
		return err
	}
	if err := app.LoadDemo(ctx); err != nil {
		return fault{err}
	}
	if err := app.Share(web.ShareMode(o.share)); err != nil {
		return fmt.Errorf("sharing could not start: %w", err)
	}
	url := "http://" + listener.Addr().String() + "/"
	fmt.Fprintf(s.out, "Firlot is at %s\nStop it with Ctrl-C; everything is saved as you go.\n", url)
	if o.share != "" {
		if err := tellShared(s, app, o); err != nil {
			return fault{err}
		}
		url += "devices"
	}
	if o.browser {
		if err := browse(url); err != nil {
			fmt.Fprintln(s.err, "firlot: no browser could be opened; type the address into one")
		}
	}
	if err := app.Serve(ctx, listener); err != nil {
		return fault{err}
	}
	return nil
}

func openStore(ctx context.Context, dir string) (*sqlite.Store, error) {
	kept, err := sqlite.Open(ctx, dir, sqlite.Options{})
	switch {
	case errors.Is(err, store.ErrLocked):
		return nil, fmt.Errorf("another Firlot is running with the data in %s: use its window, or stop it first", dir)
	case errors.Is(err, store.ErrTooNew):
		return nil, fmt.Errorf("the data in %s were written by a newer Firlot; use that one", dir)
	case errors.Is(err, store.ErrDamaged):
		return nil, fmt.Errorf("the data in %s are damaged and were left as they are: %w; start with another folder (--data) and bring a backup back", dir, err)
	case err != nil:
		return nil, fmt.Errorf("the data in %s cannot be opened: %w", dir, err)
	}
	return kept, nil
}

// listen opens a port of this machine. When the usual one is taken and no
// other was asked for, any free one will do.
func listen(addr string, asked bool) (net.Listener, error) {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return nil, fmt.Errorf("--addr %q is not an address; write for example --addr %s", addr, usualAddr)
	}
	if ip := net.ParseIP(host); host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return nil, fmt.Errorf("--addr %q is not an address of this machine alone; Firlot answers only on 127.0.0.1, ::1 or localhost", addr)
	}
	l, err := net.Listen("tcp", addr)
	if err != nil && !asked {
		l, err = net.Listen("tcp", net.JoinHostPort(host, "0"))
	}
	if err != nil {
		return nil, fmt.Errorf("the address %s cannot be used: %w; try another port, or 0 for a free one", addr, err)
	}
	return l, nil
}

func newApp(kept store.Store, addr string, sharing web.ShareConfig, log io.Writer) (*web.Server, error) {
	cat, table, err := tables()
	if err != nil {
		return nil, err
	}
	app, err := web.New(web.Config{Store: kept, Catalogue: cat, Needs: table, Clock: time.Now, Addr: addr, Share: sharing,
		Log: slog.New(slog.NewTextHandler(log, nil))})
	if err != nil {
		return nil, fault{err}
	}
	return app, nil
}

// browse opens an address in the keeper's browser.
func browse(url string) error {
	name, args := "xdg-open", []string{url}
	switch runtime.GOOS {
	case "darwin":
		name = "open"
	case "windows":
		name, args = "rundll32", []string{"url.dll,FileProtocolHandler", url}
	}
	cmd := exec.Command(name, args...)
	if err := cmd.Start(); err != nil {
		return err
	}
	go cmd.Wait() // how the browser ends is its own affair
	return nil
}
