"""Design review: mistakes that geometry and the file itself show, without a simulation (`fencecast check`)."""
