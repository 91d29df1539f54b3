package sqlite

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
)

// DefaultDir is where a user's programs keep their data on this platform:
//
//	Linux and others   $XDG_DATA_HOME/firlot, else ~/.local/share/firlot
//	macOS              ~/Library/Application Support/Firlot
//	Windows            %LocalAppData%\Firlot
//
// The first follows the XDG Base Directory Specification, which also says that
// a path that is not absolute counts as none.
func DefaultDir() (string, error) {
	return defaultDir(runtime.GOOS, os.Getenv, os.UserHomeDir)
}

func defaultDir(system string, env func(string) string, home func() (string, error)) (string, error) {
	under := []string{".local", "share", "firlot"}
	switch system {
	case "windows":
		if local := env("LocalAppData"); local != "" {
			return filepath.Join(local, "Firlot"), nil
		}
		return "", errors.New("no folder for what is kept: %LocalAppData% is not set; name a folder")
	case "darwin", "ios":
		under = []string{"Library", "Application Support", "Firlot"}
	default:
		if data := env("XDG_DATA_HOME"); filepath.IsAbs(data) {
			return filepath.Join(data, "firlot"), nil
		}
	}
	at, err := home()
	if err != nil {
		return "", fmt.Errorf("no folder for what is kept: %w; name a folder", err)
	}
	return filepath.Join(append([]string{at}, under...)...), nil
}
