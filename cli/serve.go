package cli

import (
	"context"
	"fmt"
	"net"
	"os"
	"os/exec"
	"os/signal"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"knobwise/bench/demo"
	"knobwise/bench/fault"
	"knobwise/web"
)

func serveCommand(s *streams) *cobra.Command {
	var port, listen string
	var noOpen bool
	c := &cobra.Command{
		Use:     "serve [DIR]",
		GroupID: "ask",
		Short:   "The bench page: turn the knobs and watch",
		Long: `Serve opens the bench page over the box and setup files of a folder; without a folder over the demonstration bench,
in memory. It listens on this computer only, on a free port unless --port names one, and stops with Ctrl-C.`,
		Example: "  knobwise serve\n  knobwise serve my-bench --port 8080 --no-open",
		Args:    oneAtMost("folder"),
		RunE: func(_ *cobra.Command, args []string) error {
			number, err := strconv.ParseUint(port, 10, 16)
			if err != nil {
				return usage("--port "+port+" is no port", "write a number from 1 to 65535, or 0 for a free one")
			}
			store, err := openStore(args)
			if err != nil {
				return err
			}
			listener, err := net.Listen("tcp", net.JoinHostPort(listen, strconv.FormatUint(number, 10)))
			if err != nil {
				return &fault.Error{Kind: fault.Request, What: "cannot listen: " + err.Error(), Instead: "choose another --port or --listen", Cause: err}
			}
			address := listener.Addr().(*net.TCPAddr)
			hosts := hostsOf(address, listen)
			ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
			defer stop()
			where := "http://" + hosts[0] + "/"
			fmt.Fprintln(s.out, where)
			if !address.IP.IsLoopback() {
				s.notice("note: everyone who reaches %s on this network can see this folder's boxes and change them; use it only where you trust them all", strings.Join(reachable(hosts), " or "))
			}
			if len(args) == 0 {
				s.notice("the demonstration bench is in memory: what you save there lasts until you stop; `knobwise demo DIR` writes it out")
			}
			s.notice("Ctrl-C stops it")
			if !noOpen {
				openBrowser(ctx, where)
			}
			if err := web.New(store, len(args) == 0, hosts).Serve(ctx, listener); err != nil {
				return &fault.Error{Kind: fault.Request, What: err.Error(), Instead: "start it again", Cause: err}
			}
			return nil
		},
	}
	c.Flags().StringVar(&port, "port", "0", "port to listen on (0: a free one)")
	c.Flags().StringVar(&listen, "listen", "127.0.0.1", "address to listen on; another than this computer's own lets others in")
	c.Flags().BoolVar(&noOpen, "no-open", false, "do not open a browser")
	return c
}

func openStore(args []string) (web.Store, error) {
	if len(args) == 0 {
		return web.InMemory("demonstration", demo.FS())
	}
	return web.OpenFolder(args[0])
}

// reachable are the names that another computer can use.
func reachable(hosts []string) []string {
	others := slices.DeleteFunc(slices.Clone(hosts), func(host string) bool {
		name, _, err := net.SplitHostPort(host)
		ip := net.ParseIP(name)
		return err != nil || name == "localhost" || ip != nil && (ip.IsLoopback() || ip.IsLinkLocalUnicast())
	})
	if len(others) == 0 {
		return hosts[:1]
	}
	return others
}

// hostsOf lists the names under which the page may be asked for; the first is the one to tell.
func hostsOf(address *net.TCPAddr, listen string) []string {
	port := strconv.Itoa(address.Port)
	hosts := []string{net.JoinHostPort(address.IP.String(), port)}
	if address.IP.IsUnspecified() {
		hosts = nil
		addresses, err := net.InterfaceAddrs()
		if err == nil {
			for _, a := range addresses {
				if ip, ok := a.(*net.IPNet); ok {
					hosts = append(hosts, net.JoinHostPort(ip.IP.String(), port))
				}
			}
		}
	}
	if address.IP.IsLoopback() || address.IP.IsUnspecified() {
		hosts = append(hosts, net.JoinHostPort("localhost", port))
	}
	if net.ParseIP(listen) == nil { // a name
		hosts = append([]string{net.JoinHostPort(listen, port)}, hosts...)
	}
	if address.Port == 80 { // which a browser leaves out
		for _, host := range hosts {
			hosts = append(hosts, strings.TrimSuffix(host, ":80"))
		}
	}
	return hosts
}

// openBrowser asks the desktop to show an address. Where there is no desktop the printed address is enough.
func openBrowser(ctx context.Context, address string) {
	command := []string{"xdg-open", address}
	switch runtime.GOOS {
	case "darwin":
		command[0] = "open"
	case "windows":
		command = []string{"rundll32", "url.dll,FileProtocolHandler", address}
	}
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	run := exec.CommandContext(ctx, command[0], command[1:]...) //nolint:gosec // the address is our own
	if run.Start() == nil {
		go func() { defer cancel(); _ = run.Wait() }()
	} else {
		cancel()
	}
}
