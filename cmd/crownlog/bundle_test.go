package main

import (
	"archive/zip"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// unzipped is the folder in a packed job.
func unzipped(t *testing.T, packed string) string {
	t.Helper()
	z, err := zip.OpenReader(packed)
	require.NoError(t, err)
	defer z.Close()
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, z))
	in, err := filepath.Glob(filepath.Join(dir, "*"))
	require.NoError(t, err)
	require.Len(t, in, 1)
	return in[0]
}

// TestBundle: a job that is handed over is whole, is found sound, and what is changed
// in it is noticed, reports too.
func TestBundle(t *testing.T) {
	t.Parallel()
	dir := forgeable(t)
	require.NoError(t, os.WriteFile(filepath.Join(dir, ".report.pdf.17"), []byte("left by a killed run"), 0o644))
	r := crownlog(t, nil, "export", dir, "--bundle")
	require.Zero(t, r.code, r.err)
	assert.Contains(t, r.out, dir+".zip\n")
	sound := crownlog(t, nil, "verify", dir+".zip")
	require.Zero(t, sound.code, sound.out)

	in := unzipped(t, dir+".zip")
	var names []string
	require.NoError(t, filepath.WalkDir(in, func(path string, e fs.DirEntry, err error) error {
		if !e.IsDir() {
			name, _ := filepath.Rel(in, path)
			names = append(names, filepath.ToSlash(name))
		}
		return err
	}))
	for _, want := range []string{"job.toml", "captures.csv", "captures.digest", "record.csv", "report.html", "report.pdf", "FORMAT.txt", "SHA256SUMS", "readings/final-backlash-1.csv"} {
		assert.Contains(t, names, want)
	}
	assert.NotContains(t, names, ".lock")
	assert.NotContains(t, names, ".report.pdf.17")
	if _, err := exec.LookPath("sha256sum"); err == nil {
		check := exec.Command("sha256sum", "--quiet", "-c", "SHA256SUMS")
		check.Dir = in
		out, err := check.CombinedOutput()
		assert.NoError(t, err, "%s", out)
	}

	for name, change := range map[string]func(f forger){
		"report.html":    func(f forger) { f.swap("report.html", "inside", "perfect") },
		"FORMAT.txt":     func(f forger) { f.write("FORMAT.txt", "") },
		"record.csv":     func(f forger) { require.NoError(t, os.Remove(filepath.Join(f.dir, "record.csv"))) },
		"captures.csv:1": func(f forger) { f.swap("captures.csv", "chain", "chian") },
		"SHA256SUMS":     func(f forger) { f.write("SHA256SUMS", strings.Repeat("0", 64)+"  ../../etc/passwd\n") },
	} {
		f := forger{t, unzipped(t, dir+".zip")}
		change(f)
		r := crownlog(t, nil, "verify", f.dir)
		assert.Equal(t, exitRecord, r.code, name)
		assert.Contains(t, r.out, "NOT SOUND  "+name+":", name)
	}
}

// TestSignedDigest: ssh-keygen accepts what export --sign made, verify tells of it,
// and a signature of something else, by another program or for another purpose is none.
func TestSignedDigest(t *testing.T) {
	if _, err := exec.LookPath("ssh-keygen"); err != nil {
		t.Skip("no ssh-keygen here:", err)
	}
	t.Parallel()
	dir := forgeable(t)
	f := forger{t, dir}
	keys := t.TempDir()
	key := filepath.Join(keys, "key")
	keygen := func(stdin string, args ...string) (string, error) {
		cmd := exec.Command("ssh-keygen", args...)
		cmd.Stdin = strings.NewReader(stdin)
		out, err := cmd.CombinedOutput()
		return string(out), err
	}
	_, err := keygen("", "-q", "-t", "ed25519", "-N", "", "-f", key)
	require.NoError(t, err)

	none := crownlog(t, nil, "export", dir, "--sign", filepath.Join(keys, "no-such-key"))
	assert.Equal(t, exitUsage, none.code, none.err)
	left, _ := filepath.Glob(filepath.Join(dir, "*.signed-*"))
	assert.Empty(t, left, "nothing is left that looks signed")

	r := crownlog(t, nil, "export", dir, "--sign", key)
	require.Zero(t, r.code, r.err)
	const signed = "captures.digest.signed-1"
	assert.Equal(t, f.read("captures.digest"), f.read(signed))
	pub, err := os.ReadFile(key + ".pub")
	require.NoError(t, err)
	allowed := filepath.Join(keys, "allowed_signers")
	require.NoError(t, os.WriteFile(allowed, []byte("engineer@invented "+string(pub)), 0o600))
	out, err := keygen(f.read(signed), "-Y", "verify", "-f", allowed, "-I", "engineer@invented", "-n", "crownlog", "-s", filepath.Join(dir, signed+".sig"))
	require.NoError(t, err, out)
	assert.Contains(t, out, "Good")

	told := func(code int, what string) {
		t.Helper()
		r := crownlog(t, nil, "verify", dir)
		assert.Equal(t, code, r.code, r.out)
		assert.Contains(t, r.out, what)
	}
	told(0, "note  "+signed+`.sig: SIGNED, the record up to there: Good "crownlog" signature with ED25519 key SHA256:`)
	require.Zero(t, crownlog(t, nil, "job", "note", dir, "later").code)
	told(0, "SIGNED, the record up to there")

	whole := f.read(signed)
	f.swap(signed, "lines 00", "lines 10")
	told(exitRecord, "NOT SOUND")
	f.write(signed, whole)
	sig := f.read(signed + ".sig")
	require.NoError(t, os.Remove(filepath.Join(dir, signed+".sig")))
	_, err = keygen("", "-q", "-Y", "sign", "-n", "file", "-f", key, filepath.Join(dir, signed))
	require.NoError(t, err)
	told(exitRecord, "NOT SOUND  "+signed+".sig: it is no signature of")
	f.write(signed+".sig", sig)
	told(0, "SIGNED")
	f.write(signed+".sig", "no signature\n")
	told(exitRecord, "NOT SOUND  "+signed+".sig")
	f.write(signed+".sig", sig)

	// The record rewritten as a whole agrees with itself, and not with what was signed.
	value := f.at("captures.csv", ",oil-fill,")
	f.cell("captures.csv", value, 7, "2.9")
	f.rechain()
	told(exitRecord, "NOT SOUND  captures.csv")
}

// TestOrphans: a file that was put beside the attached ones is told of.
func TestOrphans(t *testing.T) {
	t.Parallel()
	f := forger{t, forgeable(t)}
	before := crownlog(t, nil, "job", "check", f.dir)
	require.Zero(t, before.code, before.err)
	assert.NotContains(t, before.out, "no note names")
	f.write("attachments/0099-other.jpg", "another picture")
	for _, args := range [][]string{{"job", "check", f.dir}, {"job", "check", "--json", f.dir}, {"verify", f.dir}} {
		r := crownlog(t, nil, args...)
		assert.Zero(t, r.code, r.out)
		assert.Contains(t, r.out, "attachments/0099-other.jpg")
		assert.Contains(t, r.out, "no note names this attached file")
	}
}
