"""What was proved on the finished site, read again from the files of `walk plan`, `walk score`, `walk fit` and `built`."""
