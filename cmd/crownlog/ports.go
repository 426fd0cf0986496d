package main

import (
	"strings"

	"crownlog/device"
)

type portsCmd struct {
	JSON bool `name:"json" help:"Print a JSON array."`
}

// listPorts lists the serial ports.
func listPorts() ([]device.PortInfo, error) {
	ports, err := device.ListPorts()
	if err != nil {
		err = devicef("name the port yourself", "list of serial ports: %w", err)
	}
	return ports, err
}

// Run lists the ports; it opens none of them.
func (c *portsCmd) Run(con *console) error {
	ports, err := listPorts()
	if err != nil {
		return err
	}
	ports = append(ports, device.Keyboards()...)
	if c.JSON {
		return con.json(append([]device.PortInfo{}, ports...)) // [] where there are none
	}
	if len(ports) == 0 {
		con.say("no serial port found; plug the gauge in, or name its port yourself")
		return nil
	}
	var rows [][]string
	for _, p := range ports {
		id := ""
		if p.USB && !strings.Contains(p.Name, p.Vendor) {
			id = p.Vendor + ":" + p.Product
		}
		rows = append(rows, []string{p.Name, id, strings.TrimSpace(p.Maker + " " + p.Title + prefixed(" ", p.Serial)), p.Link})
	}
	return printTable(con.out, rows)
}
