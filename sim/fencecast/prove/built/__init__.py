"""The site as it was built: the pose of each camera from marks that were read in its picture."""
