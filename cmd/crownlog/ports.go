package main

import (
	"fmt"
	"strings"
	"text/tabwriter"

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
	var listed strings.Builder
	t := tabwriter.NewWriter(&listed, 0, 0, 2, ' ', 0)
	for _, p := range ports {
		id := ""
		if p.USB {
			id = p.Vendor + ":" + p.Product
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\n", p.Name, id, strings.TrimSpace(p.Maker+" "+p.Title+prefixed(" ", p.Serial)), p.Link)
	}
	t.Flush()
	for line := range strings.Lines(listed.String()) {
		fmt.Fprintln(con.out, strings.TrimRight(line, " \n"))
	}
	return nil
}
