"""A wall seen by a camera of known place, direction and lens: the truth to measure against."""

from dataclasses import dataclass

import cv2
import numpy as np


@dataclass
class Camera:
    """A pinhole camera with radial distortion; the wall is the plane z = 0, in mm.

    ``distortion`` moves a point in the picture's corner by that share of its distance from the
    middle.
    """

    turn: np.ndarray
    place: np.ndarray
    focal_px: float
    size_px: tuple[int, int]
    distortion: float = 0.0

    def project(self, wall_points: np.ndarray) -> np.ndarray:
        """Pixels where points (n, 2) of the wall are seen."""
        points = np.c_[wall_points, np.zeros(len(wall_points))]
        seen = points @ self.turn.T + self.place
        flat = seen[:, :2] / seen[:, 2:] * self.focal_px
        reach = np.hypot(*self.size_px) / 2
        share = 1 + self.distortion * (flat**2).sum(1, keepdims=True) / reach**2
        return flat * share + np.array(self.size_px) / 2


def random_camera(random, size_px) -> Camera:
    """Half a metre to a metre and a half from the wall, up to 35 degrees off square."""
    angles = random.uniform(-1, 1, 3) * np.radians([25, 35, 8])
    turn, _ = cv2.Rodrigues(np.array([angles[0], 0, 0]))
    for axis, angle in ((1, angles[1]), (2, angles[2])):
        step = np.zeros(3)
        step[axis] = angle
        turn = cv2.Rodrigues(step)[0] @ turn
    centre = np.array([240.0, 172.0, 0.0]) + np.r_[random.uniform(-120, 120, 2), 0]
    distance = random.uniform(700, 1600)
    place = np.array([0, 0, distance]) - turn @ centre
    return Camera(turn, place, focal_px=0.8 * size_px[0], size_px=size_px)


def rendered_wall(random, size_px, *, distortion: float):
    """A grey picture of a wall with six chequered targets, its camera, and their places in mm.

    Returns (picture, camera, targets): four targets at the corners of a rectangle and two more.
    """
    camera = random_camera(random, size_px)
    camera.distortion = distortion
    targets = np.array([[0, 0], [480, 0], [480, 344], [0, 344], [90, 120], [310, 250]], dtype=float)
    scale, margin = 2, 900
    shape = ((344 + 2 * margin) * scale, (480 + 2 * margin) * scale)
    wall = random.integers(145, 155, shape, dtype=np.uint8)
    arm = 14 * scale
    for x, y in targets:
        px, py = int((x + margin) * scale), int((y + margin) * scale)
        wall[py - arm : py, px - arm : px] = 20
        wall[py : py + arm, px : px + arm] = 20
        wall[py - arm : py, px : px + arm] = 240
        wall[py : py + arm, px - arm : px] = 240
    # A target's centre is the border between pixels px - 1 and px: half a pixel before px.
    where = ((hits(camera, size_px) + margin) * scale - 0.5).astype(np.float32)
    picture = cv2.remap(wall, where[..., 0], where[..., 1], cv2.INTER_LINEAR, borderValue=150)
    return cv2.GaussianBlur(picture, (0, 0), 0.8), camera, targets


def hits(camera: Camera, size_px) -> np.ndarray:
    """Where on the wall (mm) each pixel of a picture looks: (height, width, 2)."""
    xs, ys = np.meshgrid(np.arange(size_px[0]), np.arange(size_px[1]))
    flat = _undistorted(np.c_[xs.ravel(), ys.ravel()].astype(float), camera)
    rays = np.c_[flat / camera.focal_px, np.ones(len(flat))] @ camera.turn
    origin = -camera.turn.T @ camera.place
    along = -origin[2] / rays[:, 2]
    return (origin[:2] + rays[:, :2] * along[:, None]).reshape(size_px[1], size_px[0], 2)


def _undistorted(pixels: np.ndarray, camera: Camera) -> np.ndarray:
    """The inverse of the camera's distortion, by fixed-point iteration."""
    moved = pixels - np.array(camera.size_px) / 2
    reach = np.hypot(*camera.size_px) / 2
    plain = moved.copy()
    for _ in range(8):
        plain = moved / (1 + camera.distortion * (plain**2).sum(1, keepdims=True) / reach**2)
    return plain
