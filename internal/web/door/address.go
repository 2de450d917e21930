package door

import (
	"net"
	"net/http"
	"net/netip"
	"strings"
)

// address is who is on the other side. Only behind a proxy on this machine does a header say so.
func (d *Door) address(r *http.Request) netip.Addr {
	at, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return netip.Addr{}
	}
	addr := at.Addr().Unmap()
	if d.opt.Public == nil || !addr.IsLoopback() {
		return addr
	}
	list := r.Header.Values("X-Forwarded-For")
	if len(list) == 0 {
		return addr
	}
	last := list[len(list)-1] // the one that our own proxy added
	last = strings.TrimSpace(last[strings.LastIndexByte(last, ',')+1:])
	if said, err := netip.ParseAddr(last); err == nil {
		return said.Unmap()
	}
	return addr
}

// network is the address as rates count it: of IPv6 the first 64 bits, which one household has.
func (d *Door) network(r *http.Request) string {
	a := d.address(r)
	if a.Is6() {
		if p, err := a.WithZone("").Prefix(64); err == nil {
			return p.String()
		}
	}
	return a.String()
}

// Local reports whether the request comes from this machine and through no proxy.
func Local(r *http.Request) bool {
	at, err := netip.ParseAddrPort(r.RemoteAddr)
	return err == nil && at.Addr().Unmap().IsLoopback() && r.Header.Get("X-Forwarded-For") == "" && r.Header.Get("Forwarded") == ""
}

// Addresses lists the addresses of this machine that others on its network reach, private IPv4 first.
func Addresses() []netip.Addr {
	list, err := net.InterfaceAddrs()
	if err != nil {
		return nil
	}
	var private, others []netip.Addr
	for _, a := range list {
		n, ok := a.(*net.IPNet)
		if !ok {
			continue
		}
		addr, ok := netip.AddrFromSlice(n.IP)
		addr = addr.Unmap()
		switch {
		case !ok, addr.IsLoopback(), addr.IsLinkLocalUnicast():
		case addr.Is4() && addr.IsPrivate():
			private = append(private, addr)
		default:
			others = append(others, addr)
		}
	}
	return append(private, others...)
}
