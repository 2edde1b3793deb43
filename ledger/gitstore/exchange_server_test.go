package gitstore

import (
	"bufio"
	"bytes"
	"context"
	"crypto/ed25519"
	"crypto/sha1"
	"encoding/binary"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"

	"github.com/go-git/go-billy/v5/osfs"
	"github.com/go-git/go-git/v5/plumbing/format/pktline"
	"github.com/go-git/go-git/v5/plumbing/protocol/packp"
	"github.com/go-git/go-git/v5/plumbing/transport"
	"github.com/go-git/go-git/v5/plumbing/transport/server"
	"golang.org/x/crypto/ssh"
)

// The other side of a line, without a git binary: go-git's server behind http,
// ssh and git's own protocol. Stock git is tried with SHEDBOOK_TEST=full.

const (
	uploadPack  = "git-upload-pack"
	receivePack = "git-receive-pack"
)

// serve answers one session of a service over a stream; with greeting or answer
// alone, as http does it.
func serve(root, path, service string, greeting, answer bool, in io.Reader, out io.Writer) error {
	ep := &transport.Endpoint{Path: path}
	side := server.NewServer(server.NewFilesystemLoader(osfs.New(root)))
	switch service {
	case uploadPack:
		s, err := side.NewUploadPackSession(ep, nil)
		if err != nil {
			return err
		}
		if greeting {
			adv, err := s.AdvertisedReferences()
			if err != nil {
				return err
			}
			if err := adv.Encode(out); err != nil {
				return err
			}
		}
		if !answer {
			return nil
		}
		req := packp.NewUploadPackRequest()
		if err := req.Decode(in); err != nil {
			return err
		}
		res, err := s.UploadPack(context.Background(), req)
		if err != nil {
			return err
		}
		return res.Encode(out)
	case receivePack:
		s, err := side.NewReceivePackSession(ep, nil)
		if err != nil {
			return err
		}
		if greeting {
			adv, err := s.AdvertisedReferences()
			if err != nil {
				return err
			}
			if err := adv.Encode(out); err != nil {
				return err
			}
		}
		if !answer {
			return nil
		}
		req := packp.NewReferenceUpdateRequest()
		if err := req.Decode(in); err != nil {
			return err
		}
		if req.Packfile, err = wholePack(req.Packfile); err != nil {
			return err
		}
		status, err := s.ReceivePack(context.Background(), req)
		if status != nil {
			return status.Encode(out)
		}
		return err
	}
	return fmt.Errorf("no such service: %q", service)
}

// wholePack reads one pack off a stream that does not end behind it, as go-git's
// server would read on.
func wholePack(in io.Reader) (io.ReadCloser, error) {
	var raw bytes.Buffer
	c := &counted{Reader: bufio.NewReader(io.TeeReader(in, &raw))}
	var head [packHead]byte
	if _, err := io.ReadFull(c, head[:]); err != nil {
		return nil, err
	}
	for range binary.BigEndian.Uint32(head[8:]) {
		if _, err := readEntry(c, c.n); err != nil {
			return nil, err
		}
	}
	if _, err := io.CopyN(io.Discard, c, sha1.Size); err != nil {
		return nil, err
	}
	return io.NopCloser(bytes.NewReader(raw.Bytes()[:c.n])), nil
}

// serveHTTP serves the repositories under root; with a token, only to whoever
// shows it.
func serveHTTP(t testing.TB, root, token string) string {
	t.Helper()
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if _, shown, _ := r.BasicAuth(); token != "" && shown != token {
			w.Header().Set("WWW-Authenticate", `Basic realm="books"`)
			http.Error(w, "who is there?", http.StatusUnauthorized)
			return
		}
		var out bytes.Buffer
		path, service := r.URL.Path, r.URL.Query().Get("service")
		var err error
		if p, ok := strings.CutSuffix(path, "/info/refs"); ok {
			e := pktline.NewEncoder(&out)
			e.EncodeString("# service=" + service + "\n")
			e.Flush()
			w.Header().Set("Content-Type", "application/x-"+service+"-advertisement")
			err = serve(root, p, service, true, false, r.Body, &out)
		} else {
			service = filepath.Base(path)
			w.Header().Set("Content-Type", "application/x-"+service+"-result")
			err = serve(root, strings.TrimSuffix(path, "/"+service), service, false, true, r.Body, &out)
		}
		if errors.Is(err, transport.ErrRepositoryNotFound) {
			http.NotFound(w, r)
			return
		}
		if err != nil {
			http.Error(w, err.Error(), http.StatusInternalServerError)
			return
		}
		w.Write(out.Bytes())
	}))
	t.Cleanup(s.Close)
	return s.URL
}

// accept serves each connection of a listener on loopback.
func accept(t testing.TB, handle func(net.Conn)) net.Addr {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	go func() {
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			go func() {
				defer conn.Close()
				handle(conn)
			}()
		}
	}()
	return l.Addr()
}

// serveGit serves git's own protocol.
func serveGit(t testing.TB, root string) string {
	addr := accept(t, func(conn net.Conn) {
		var req packp.GitProtoRequest
		if err := req.Decode(conn); err != nil {
			return
		}
		_ = serve(root, req.Pathname, req.RequestCommand, true, true, conn, conn)
		conn.(*net.TCPConn).CloseWrite() // closing what is not read to its end would cut off the answer
		io.Copy(io.Discard, conn)
	})
	return "git://" + addr.String()
}

// serveSSH serves ssh to whoever has the key, and returns the address and the
// fingerprint of the machine's own key.
func serveSSH(t testing.TB, root string, allowed ssh.PublicKey) (address, fingerprint string) {
	t.Helper()
	_, private, err := ed25519.GenerateKey(seeded("the machine's key"))
	if err != nil {
		t.Fatal(err)
	}
	host, err := ssh.NewSignerFromKey(private)
	if err != nil {
		t.Fatal(err)
	}
	config := &ssh.ServerConfig{PublicKeyCallback: func(_ ssh.ConnMetadata, key ssh.PublicKey) (*ssh.Permissions, error) {
		if !bytes.Equal(key.Marshal(), allowed.Marshal()) {
			return nil, errors.New("not known")
		}
		return nil, nil
	}}
	config.AddHostKey(host)
	addr := accept(t, func(conn net.Conn) {
		_, channels, requests, err := ssh.NewServerConn(conn, config)
		if err != nil {
			return
		}
		go ssh.DiscardRequests(requests)
		for ch := range channels {
			channel, requests, err := ch.Accept()
			if err != nil {
				return
			}
			go func() {
				for r := range requests {
					if r.Type != "exec" {
						r.Reply(false, nil)
						continue
					}
					r.Reply(true, nil)
					var command struct{ Line string }
					ssh.Unmarshal(r.Payload, &command)
					service, path, _ := strings.Cut(command.Line, " ")
					status := make([]byte, 4)
					if err := serve(root, strings.Trim(path, "'"), service, true, true, channel, channel); err != nil {
						fmt.Fprintln(channel.Stderr(), err)
						status[3] = 1
					}
					channel.SendRequest("exit-status", false, status)
					channel.Close()
				}
			}()
		}
	})
	return "ssh://books@" + addr.String(), ssh.FingerprintSHA256(host.PublicKey())
}

// sshKey returns a private key in OpenSSH form and its public half.
func sshKey(t testing.TB, seed, passphrase string) ([]byte, ssh.PublicKey) {
	t.Helper()
	public, private, err := ed25519.GenerateKey(seeded(seed))
	if err != nil {
		t.Fatal(err)
	}
	var block *pem.Block
	if passphrase == "" {
		block, err = ssh.MarshalPrivateKey(private, "")
	} else {
		block, err = ssh.MarshalPrivateKeyWithPassphrase(private, "", []byte(passphrase))
	}
	if err != nil {
		t.Fatal(err)
	}
	key, err := ssh.NewPublicKey(public)
	if err != nil {
		t.Fatal(err)
	}
	return pem.EncodeToMemory(block), key
}
