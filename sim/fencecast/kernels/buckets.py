"""Alarm times of a crossing, sorted: each distinct time of all cameras is one bucket."""

from fencecast.jit import compiled_inline


@compiled_inline
def _place_of(times, count, time):
    """Index of the first of `count` ascending times that is not below `time`."""
    low, high = 0, count
    while low < high:
        middle = (low + high) // 2
        if times[middle] < time:
            low = middle + 1
        else:
            high = middle
    return low


@compiled_inline
def number_buckets(work, cameras, first, last):
    """Sort the distinct alarm times of all cameras' armed looks into buckets; looks before t_c share one. Returns how many.

    work.bucket_of[camera, look] is the bucket of an armed look; depth and delay of a bucket are those of the first camera in it.
    """
    count = 0
    for camera in range(cameras):
        for look in range(first, last + 1):
            if not work.armed[camera, look]:
                continue
            time = work.alarm_time[camera, look]
            at = _place_of(work.bucket_time, count, time)
            if at < count and work.bucket_time[at] == time:
                continue
            for b in range(count, at, -1):
                work.bucket_time[b] = work.bucket_time[b - 1]
                work.bucket_depth[b] = work.bucket_depth[b - 1]
                work.bucket_delay[b] = work.bucket_delay[b - 1]
            work.bucket_time[at] = time
            work.bucket_depth[at] = work.depth[camera, look]
            work.bucket_delay[at] = work.delay[camera, look]
            count += 1
    for camera in range(cameras):
        for look in range(first, last + 1):
            if work.armed[camera, look]:
                work.bucket_of[camera, look] = _place_of(work.bucket_time, count, work.alarm_time[camera, look])
    return count
