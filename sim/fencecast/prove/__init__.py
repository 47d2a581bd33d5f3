"""What is taken to the finished site and brought back from it: aim sheets and the marks by which a camera is turned."""
