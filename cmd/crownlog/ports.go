package main

import (
	"strings"

	"crownlog/device"
)

type portsCmd struct {
	JSON bool `name:"json" help:"Print a JSON array."`
}

// A portView is a port as ports --json prints it.
type portView struct {
	Name    string `json:"name"`
	Link    string `json:"link"`
	USB     bool   `json:"usb"`
	Vendor  string `json:"vendor"`
	Product string `json:"product"`
	Serial  string `json:"serial"`
	Maker   string `json:"maker"`
	Title   string `json:"title"`
}

// Run lists the ports; it opens none of them.
func (c *portsCmd) Run(con *console) error {
	ports, err := device.ListPorts()
	if err != nil {
		return devicef("name the port yourself", "list of serial ports: %w", err)
	}
	if c.JSON {
		views := make([]portView, 0, len(ports))
		for _, p := range ports {
			views = append(views, portView(p))
		}
		return con.json(views)
	}
	if len(ports) == 0 {
		con.say("no serial port found; plug the gauge in, or name its port yourself")
		return nil
	}
	var rows [][]string
	for _, p := range ports {
		id := ""
		if p.USB {
			id = p.Vendor + ":" + p.Product
		}
		rows = append(rows, []string{p.Name, id, strings.TrimSpace(p.Maker + " " + p.Title + prefixed(" ", p.Serial)), p.Link})
	}
	return printTable(con.out, rows)
}
