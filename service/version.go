package service

import "runtime/debug"

// module is the path of this module.
const module = "example.com/tailbound"

// Version is what the build knows of itself: the module's version, or the commit that it was built from. In a program that
// embeds the service it is the version of this module, not of the program.
func Version() string {
	info, known := debug.ReadBuildInfo()
	if !known {
		return "unknown"
	}
	if info.Main.Path != module {
		for _, dependency := range info.Deps {
			if dependency.Path == module {
				return dependency.Version
			}
		}
	}
	return info.Main.Version
}
