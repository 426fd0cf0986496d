package device

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// sysfs writes an invented device tree: files of path to content, then links
// of path to target.
func sysfs(t *testing.T, files, links map[string]string) string {
	t.Helper()
	root := t.TempDir()
	for name, content := range files {
		path := filepath.Join(root, name)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, []byte(content+"\n"), 0o644))
	}
	for name, target := range links {
		path := filepath.Join(root, name)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.Symlink(filepath.Join(root, target), path))
	}
	return root
}

func TestPortsOfThisComputer(t *testing.T) {
	ports, err := ListPorts()
	require.NoError(t, err)
	for _, p := range ports {
		assert.Equal(t, devPlace, filepath.Dir(p.Name))
	}
	_, err = sysfsPorts(filepath.Join(t.TempDir(), "none"), "", "")
	assert.ErrorIs(t, err, os.ErrNotExist)
	for _, path := range []string{filepath.Join(t.TempDir(), "none"), t.TempDir(), os.DevNull} {
		info, ok := portInfo(path)
		assert.False(t, ok, path)
		assert.Equal(t, PortInfo{}, info)
	}
	assert.True(t, PortInfo{USB: true, Vendor: "0403"}.hasIdentity())
	assert.False(t, PortInfo{USB: true}.hasIdentity())
	assert.True(t, PortInfo{Path: "name"}.hasIdentity())
}

func TestPortsFromSysfs(t *testing.T) {
	root := sysfs(t, map[string]string{
		"devices/usb1/1-2/idVendor":                    "0403",
		"devices/usb1/1-2/idProduct":                   "6001",
		"devices/usb1/1-2/serial":                      "A1B2",
		"devices/usb1/1-2/manufacturer":                "Maker",
		"devices/usb1/1-2/product":                     "Serial bridge",
		"devices/usb1/1-2/1-2:1.0/ttyUSB0/port":        "",
		"devices/usb1/1-3/idVendor":                    "2e8a",
		"devices/usb1/1-3/idProduct":                   "000a",
		"devices/usb1/1-3/1-3:1.0/bInterfaceClass":     "02",
		"devices/platform/serial8250/uevent":           "",
		"devices/usb1/1-4/idVendor":                    "9710",
		"devices/usb1/1-4/1-4:1.0/ttyUSB1/port_number": "1",
		"tty/ttyS0/type":                               "4",
		"tty/ttyS1/type":                               "0",
		"tty/tty1/uevent":                              "",
	}, map[string]string{
		"tty/ttyUSB0/device":   "devices/usb1/1-2/1-2:1.0/ttyUSB0",
		"tty/ttyACM0/device":   "devices/usb1/1-3/1-3:1.0",
		"tty/ttyS0/device":     "devices/platform/serial8250",
		"tty/ttyS1/device":     "devices/platform/serial8250",
		"tty/ttyUSB1/device":   "devices/usb1/1-4/1-4:1.0/ttyUSB1",
		"by-id/usb-Maker_A1B2": "ttyUSB0",
		"by-id/usb-Maker":      "ttyACM0",
		"by-path/1-3":          "ttyACM0",
		"by-path/1-2":          "ttyUSB0",
	})
	ports, err := sysfsPorts(filepath.Join(root, "tty"), filepath.Join(root, "by-id"), filepath.Join(root, "by-path"))
	require.NoError(t, err)
	assert.Equal(t, []PortInfo{
		{Name: "/dev/ttyACM0", Link: filepath.Join(root, "by-path/1-3"), USB: true, Vendor: "2E8A", Product: "000A", Path: "1-3:1.0"},
		{Name: "/dev/ttyS0"},
		{Name: "/dev/ttyUSB0", Link: filepath.Join(root, "by-id/usb-Maker_A1B2"), USB: true, Vendor: "0403", Product: "6001",
			Serial: "A1B2", Maker: "Maker", Title: "Serial bridge", Path: "1-2:1.0"},
		{Name: "/dev/ttyUSB1", USB: true, Vendor: "9710", Path: "1-4:1.0.1"},
	}, ports, "a reserved port (type 0) and a console are none")
}

func TestListPortsOpensNothing(t *testing.T) {
	ports, err := ListPorts()
	require.NoError(t, err)
	for _, p := range ports {
		assert.NotEmpty(t, p.Name)
	}
}
