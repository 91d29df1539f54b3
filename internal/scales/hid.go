package scales

import (
	"encoding/binary"
	"math/big"
)

// DataReport is the number of the report that carries the weight.
const DataReport = 3

// hidLength is a data report without its number: status, unit, power of ten,
// and two bytes of weight. More bytes are padding.
const hidLength = 5

var hidStates = [...]State{1: Fault, 2: Zero, 3: Moving, 4: Stable, 5: Under, 6: Over, 7: Calibrate, 8: Rezero}

var hidUnits = map[byte]unit{0x01: milligram, 0x02: gram, 0x03: kilogram, 0x0b: ounce, 0x0c: pound}

// lastHIDUnit is the last unit of the usage tables.
const lastHIDUnit = 0x0c

// HID reads a report of a USB scale. data is what follows the report's number.
func HID(report byte, data []byte) Reading {
	if report != DataReport || len(data) < hidLength {
		return Reading{State: Unreadable}
	}
	status := data[0]
	if status == 0 || int(status) >= len(hidStates) {
		return Reading{State: Unreadable}
	}
	state := hidStates[status]
	if !state.Weighs() {
		return Reading{State: state}
	}
	u, ok := hidUnits[data[1]]
	switch {
	case !ok && data[1] >= 1 && data[1] <= lastHIDUnit:
		return Reading{State: OtherUnit}
	case !ok:
		return Reading{State: Unreadable}
	}
	return in(state, big.NewInt(int64(binary.LittleEndian.Uint16(data[3:]))), int(int8(data[2])), u)
}
