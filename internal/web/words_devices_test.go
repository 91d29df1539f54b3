package web

import "firlot/internal/scales"

// devicesComputed are the keys of devices.*.toml that code puts together.
func devicesComputed() []string {
	var list []string
	for _, name := range []string{"usb", "serial", "rate", "asks", "silent", "failed", "simulated"} {
		list = append(list, "scale_"+name)
	}
	for _, s := range scales.States() {
		if s != scales.Nothing {
			list = append(list, "scale_"+string(s))
		}
	}
	return list
}
