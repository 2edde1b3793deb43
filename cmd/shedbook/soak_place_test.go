package main

import (
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// soakPlaces are a folder, a repository behind git's own http server and one behind sshd, all on this machine; without the full tests, which insist on these
// programs, two folders.
func soakPlaces(t *testing.T) []meeting {
	root := t.TempDir()
	places := []meeting{{url: filepath.Join(root, "stick")}}
	if !fullTests {
		return append(places, meeting{url: filepath.Join(root, "other stick")})
	}
	for _, name := range []string{"http.git", "ssh.git"} {
		if out, err := exec.Command("git", "init", "-q", "--bare", filepath.Join(root, name)).CombinedOutput(); err != nil {
			t.Fatalf("git init: %v\n%s", err, out)
		}
		if out, err := exec.Command("git", "-C", filepath.Join(root, name), "config", "http.receivepack", "true").CombinedOutput(); err != nil {
			t.Fatalf("git config: %v\n%s", err, out)
		}
	}
	url, _ := gitServer(t, root, "")
	places = append(places, meeting{url: url + "/http.git"})
	address, flags := sshServer(t, root)
	return append(places, meeting{url: "ssh://root@" + address + filepath.Join(root, "ssh.git"), flags: flags})
}

// sshServer is a stock sshd on loopback, which lets one key in.
func sshServer(t *testing.T, root string) (address string, flags []string) {
	t.Helper()
	sshd, err := exec.LookPath("sshd")
	if err != nil {
		if sshd = "/usr/sbin/sshd"; !fileExists(sshd) {
			t.Fatal("sshd is not installed")
		}
	}
	run := func(name string, args ...string) string {
		out, err := exec.Command(name, args...).CombinedOutput()
		if err != nil {
			t.Fatalf("%s %v: %v\n%s", name, args, err, out)
		}
		return string(out)
	}
	at := func(name string) string { return filepath.Join(root, name) }
	for _, key := range []string{"host", "farm"} {
		run("ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-C", "", "-f", at(key))
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address = l.Addr().String()
	_, port, _ := net.SplitHostPort(address)
	l.Close()
	if err := os.MkdirAll("/run/sshd", 0o755); err != nil {
		t.Fatal(err)
	}
	// The account may have other variables than these tests; git finds its book with safe.directory from its own configuration.
	command := at("in.sh")
	script := "#!/bin/sh\nexport GIT_CONFIG_COUNT=1 GIT_CONFIG_KEY_0=safe.directory GIT_CONFIG_VALUE_0='*'\nexec sh -c \"$SSH_ORIGINAL_COMMAND\"\n"
	if err := os.WriteFile(command, []byte(script), 0o755); err != nil {
		t.Fatal(err)
	}
	config := fmt.Sprintf("ListenAddress 127.0.0.1\nPort %s\nHostKey %s\nAuthorizedKeysFile %s\nPidFile %s\nStrictModes no\nUsePAM no\nPasswordAuthentication no\nPermitRootLogin yes\nMaxStartups 100\nForceCommand %s\n",
		port, at("host"), at("farm.pub"), at("pid"), command)
	if err := os.WriteFile(at("sshd_config"), []byte(config), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(sshd, "-D", "-e", "-f", at("sshd_config"))
	log, err := os.Create(at("sshd.log"))
	if err != nil {
		t.Fatal(err)
	}
	cmd.Stderr = log
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		log.Close()
	})
	for range 100 {
		if c, err := net.Dial("tcp", address); err == nil {
			c.Close()
			print := strings.Fields(run("ssh-keygen", "-l", "-f", at("host.pub")))[1]
			return address, []string{"--identity", at("farm"), "--host-key", print}
		}
		time.Sleep(50 * time.Millisecond)
	}
	text, _ := os.ReadFile(at("sshd.log"))
	t.Fatalf("sshd does not answer\n%s", text)
	return "", nil
}

func fileExists(name string) bool {
	_, err := os.Stat(name)
	return err == nil
}
