"""`fencecast aim`: one sheet for the installer of each camera, and the marks by which it is turned."""

from __future__ import annotations

from pathlib import Path

import click

from fencecast.cli.output import say_blocks, say_json, warn

MARKS = "marks.csv"


@click.command(short_help="One A4 sheet a camera for the installer: mount, live picture, marks on the ground.")
@click.argument("site", metavar="SITE.toml")
@click.option("--camera", "cameras", multiple=True, metavar="MARK", help="Only this camera; may be repeated.")
@click.option("-o", "--output", metavar="DIR", help="Folder for the sheets.  [default: STEM-aim where you stand]")
@click.option("--marks", type=int, default=4, show_default=True, metavar="N", help="Marks on the ground of each camera, 3 to 8.")
@click.option(
    "--cost", is_flag=True, help="Simulate what an error of aim costs, in the worst weather class: half a minute a camera."
)
@click.option("--for", "reader", default="", metavar="NAME", help="Who the sheets are for.")
@click.option("--issue", default="1", show_default=True, metavar="TEXT", help="Number of the issue, as it stands on the sheets.")
@click.option("--force", is_flag=True, help="Use a folder that exists; only files that fencecast wrote there are replaced.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output instead of tables.")
def aim(site, cameras, output, marks, cost, reader, issue, force, as_json) -> None:
    """Write aim-MARK.pdf and aim-MARK.png for every camera, and marks.csv: where its marks lie and must appear in the picture.

    Nothing is simulated without --cost.
    """
    import fencecast as fc
    from fencecast.cli.folder import OutputFolder
    from fencecast.cli.progress import Progress
    from fencecast.findings.aim import aim_blocks, aim_object
    from fencecast.findings.aimwords import mark_place
    from fencecast.findings.sitewarnings import site_warnings
    from fencecast.prove.aim import check_aim
    from fencecast.prove.marksfile import marks_file, sheet_names

    loaded = fc.load_site(site)
    check_aim(loaded, cameras, marks, reader, issue)
    marks_asked = [camera.mark for camera in loaded.camera if not cameras or camera.mark in cameras]
    names = sheet_names(marks_asked)
    files = [f"{name}.{end}" for name in names.values() for end in ("pdf", "png")]
    folder = OutputFolder(output or f"{Path(site).stem}-aim", [*files, MARKS], replace=force)
    with folder as staging:
        for text in site_warnings(loaded):
            warn(text)
        with Progress() as progress:
            if cost:
                progress.stage("Getting ready (compiles once, half a minute)")
            sheets = fc.aim(loaded, cameras, marks, cost, reader, issue, progress)
            progress.stage("Drawing")
            from fencecast.show.aim.sheet import plot_aim
            from fencecast.show.paper.page import save_picture

            for mark, name in names.items():
                figure = plot_aim(sheets, mark)
                for end in ("pdf", "png"):
                    save_picture(figure, staging / f"{name}.{end}")
        (staging / MARKS).write_bytes(marks_file(sheets, lambda mark: mark_place(loaded, mark)))
    if as_json:
        folder.warn_left()
        say_json(aim_object(sheets, folder.files))
    else:
        say_blocks(aim_blocks(sheets, folder.files, folder.left))
