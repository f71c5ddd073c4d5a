package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

func sorted(files map[string][]byte) []string { return slices.Sorted(maps.Keys(files)) }

// mode is what a file of an archive may be used for.
func mode(name string) int64 {
	if filepath.Base(name) == "start.command" || slices.Contains(programs, strings.TrimSuffix(filepath.Base(name), ".exe")) && !strings.Contains(name, "licences/") && !strings.Contains(name, "share/") {
		return 0o755
	}
	return 0o644
}

// pack writes a system's archive, and for Linux its Debian package, and returns
// their names.
func (r *release) pack(s system, files map[string][]byte) ([]string, error) {
	top := fmt.Sprintf("legtrace-%s-%s-%s", r.version, s.os, s.arch)
	under := map[string][]byte{}
	for name, data := range files {
		under[top+"/"+name] = data
	}
	var b bytes.Buffer
	ext, write := ".tar.gz", r.tarball
	if s.os == "windows" {
		ext, write = ".zip", r.zip
	}
	if err := write(&b, under); err != nil {
		return nil, err
	}
	names := []string{top + ext}
	if err := os.WriteFile(filepath.Join(r.out, names[0]), b.Bytes(), 0o666); err != nil {
		return nil, err
	}
	if s.os == "linux" {
		deb, err := r.debian(s, files)
		if err != nil {
			return nil, err
		}
		names = append(names, fmt.Sprintf("legtrace_%s_%s.deb", r.version, s.arch))
		if err := os.WriteFile(filepath.Join(r.out, names[1]), deb, 0o666); err != nil {
			return nil, err
		}
	}
	return names, nil
}

// tarball writes files in order of their names, all of the commit's date and of
// nobody in particular, with the folders that they are in.
func (r *release) tarball(w io.Writer, files map[string][]byte) error {
	z := gzip.NewWriter(w)
	t := tar.NewWriter(z)
	made := map[string]bool{".": true}
	for _, name := range sorted(files) {
		var above []string
		for dir := filepath.ToSlash(filepath.Dir(name)); !made[dir]; dir = filepath.ToSlash(filepath.Dir(dir)) {
			above, made[dir] = append(above, dir), true
		}
		for _, dir := range slices.Backward(above) {
			if err := t.WriteHeader(&tar.Header{Typeflag: tar.TypeDir, Name: dir + "/", Mode: 0o755, ModTime: r.date, Uname: "root", Gname: "root"}); err != nil {
				return err
			}
		}
		data := files[name]
		if err := t.WriteHeader(&tar.Header{Name: name, Size: int64(len(data)), Mode: mode(name), ModTime: r.date, Uname: "root", Gname: "root"}); err != nil {
			return err
		}
		if _, err := t.Write(data); err != nil {
			return err
		}
	}
	return errors.Join(t.Close(), z.Close())
}

func (r *release) zip(w io.Writer, files map[string][]byte) error {
	z := zip.NewWriter(w)
	for _, name := range sorted(files) {
		f, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: r.date})
		if err != nil {
			return err
		}
		if _, err := f.Write(files[name]); err != nil {
			return err
		}
	}
	return z.Close()
}

// debian is a binary package as deb(5) has it: an ar archive of the format's
// number, what the package is, and its files.
func (r *release) debian(s system, files map[string][]byte) ([]byte, error) {
	const share = "./usr/share/"
	data, size := map[string][]byte{}, 0
	for name, text := range files {
		to := share + "doc/legtrace/" + name
		switch dir, base := filepath.Split(name); {
		case slices.Contains(programs, name):
			to = "./usr/bin/" + name
		case dir == "man/":
			var b bytes.Buffer
			z := gzip.NewWriter(&b)
			_, err := z.Write(text)
			if err := errors.Join(err, z.Close()); err != nil {
				return nil, err
			}
			to, text = share+"man/man1/"+base+".gz", b.Bytes()
		case base == "legtrace.bash":
			to = share + "bash-completion/completions/legtrace"
		case base == "_legtrace":
			to = share + "zsh/vendor-completions/" + base
		case base == "legtrace.fish":
			to = share + "fish/vendor_completions.d/" + base
		case base == "legtrace.ps1", base == "START.txt":
			continue
		case name == "LICENSE":
			to = share + "doc/legtrace/copyright"
		}
		data[to] = text
		size += len(text)
	}
	control := fmt.Sprintf(`Package: legtrace
Version: %s
Architecture: %s
Maintainer: the legtrace project
Installed-Size: %d
Section: electronics
Priority: optional
Description: traces how a load of an electric appliance is fed
 From a netlist of a range, dryer, water heater or the like: what starves a load,
 what a meter reads, which test comes next, and a drawing of it all.
`, r.version, s.arch, (size+1023)/1024)
	var parts [2]bytes.Buffer
	if err := errors.Join(r.tarball(&parts[0], map[string][]byte{"./control": []byte(control)}), r.tarball(&parts[1], data)); err != nil {
		return nil, err
	}
	deb := bytes.NewBufferString("!<arch>\n")
	for _, member := range []struct {
		name string
		data []byte
	}{{"debian-binary", []byte("2.0\n")}, {"control.tar.gz", parts[0].Bytes()}, {"data.tar.gz", parts[1].Bytes()}} {
		fmt.Fprintf(deb, "%-16s%-12d%-6d%-6d%-8s%-10d`\n", member.name, r.date.Unix(), 0, 0, "100644", len(member.data))
		deb.Write(member.data)
		if len(member.data)%2 == 1 {
			deb.WriteByte('\n')
		}
	}
	return deb.Bytes(), nil
}
