"""Sky: time, the night, site and horizon, Sun, Moon, altitude, crossings, sky brightness."""
