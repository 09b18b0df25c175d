"""What a person saw in the demo's drawn photos: where the bricks are, and which joints are open.

Places are pixels of the picture. Each wall was looked at by eye; a picture that was drawn anew
since is left out, by its digest.
"""

from dataclasses import dataclass

LEFT, RIGHT = 40, 1240  # of a picture 1280 wide; a tall one is 960 wide


@dataclass(frozen=True)
class Seen:
    """``corners`` are the heights of the upper and lower joint, left and right, ``courses`` between
    them. ``open`` are the middles of open joints, ``weeps`` of weep holes; ``cracked`` walls have a
    crack along their joints, which is a fault of another kind.
    """

    name: str
    digest: str
    corners: tuple[int, int, int, int]
    courses: int
    open: tuple[tuple[int, int], ...] = ()
    weeps: tuple[tuple[int, int], ...] = ()
    cracked: bool = False

    @property
    def places(self) -> list[tuple[int, int]]:
        upper_left, upper_right, lower_left, lower_right = self.corners
        right = 930 if self.name == "kh-1187-tight_crack" else RIGHT
        return [(LEFT, upper_left), (right, upper_right), (right, lower_right), (LEFT, lower_left)]


PHOTOS = [
    Seen(
        "kh-1149-soil_against_brick-fixed",
        "c54dfbc2b83697cd",
        (117, 117, 633, 636),
        7,
        weeps=((679, 450),),
    ),
    Seen(
        "kh-1149-soil_against_brick",
        "4cfd8418300b54af",
        (111, 106, 476, 476),
        5,
        weeps=((685, 437),),
    ),
    Seen(
        "kh-1149-weep_hole_blocked-fixed",
        "41f04fda44944b46",
        (56, 68, 627, 640),
        4,
        weeps=((589, 278),),
    ),
    Seen("kh-1149-weep_hole_blocked", "55e1a649ee55a97b", (44, 32, 631, 628), 4),
    Seen(
        "kh-1158-mortar_drop-fixed", "f4936ab993366cd4", (87, 87, 605, 621), 5, weeps=((589, 353),)
    ),
    Seen("kh-1158-mortar_drop", "1285a61287604b0f", (93, 89, 621, 612), 5, weeps=((619, 353),)),
    Seen("kh-1165-unfilled_joint-fixed", "e32f0fefe245ae98", (46, 52, 560, 575), 5),
    Seen(
        "kh-1165-unfilled_joint",
        "0c5e6517948b1412",
        (48, 52, 558, 560),
        5,
        open=((687, 249), (513, 195), (660, 300)),
    ),
    Seen("kh-1165-wet_brick-fixed", "f75600bf39589907", (91, 69, 657, 651), 7, weeps=((585, 448),)),
    Seen("kh-1165-wet_brick", "53710203063aabf6", (77, 85, 641, 665), 7, weeps=((593, 443),)),
    Seen(
        "kh-1171-dirty_brick-fixed", "4213d306d5764a24", (67, 46, 647, 643), 7, weeps=((633, 437),)
    ),
    Seen("kh-1171-dirty_brick", "b897def5bc6861f7", (125, 117, 635, 639), 6, weeps=((665, 427),)),
    Seen(
        "kh-1171-timber_against_wall-fixed",
        "c9448c4e95a7fc9c",
        (105, 113, 627, 633),
        7,
        weeps=((647, 448),),
    ),
    Seen("kh-1187-articulation_unsealed", "99a5701c6dcfcf77", (62, 62, 848, 847), 3),
    Seen("kh-1187-mortar_drop", "dc666a3ef0e176b4", (107, 81, 645, 619), 5, weeps=((631, 357),)),
    Seen("kh-1187-tap_splashes", "282ee7f9a9e1a035", (83, 81, 639, 637), 6, weeps=((601, 409),)),
    Seen("kh-1187-tight_crack", "fbfd4722d8d1c70f", (82, 82, 1081, 1081), 3, cracked=True),
    Seen("kh-1187-weep_hole_blocked", "15e5befdec5b4a6e", (163, 153, 599, 589), 3),
    Seen("kh-1204-articulation_unsealed-fixed", "d9ad8f9a861fcb4f", (67, 50, 860, 840), 3),
    Seen("kh-1204-articulation_unsealed", "b861a6dcd1c00635", (75, 75, 844, 841), 3),
    Seen(
        "kh-1204-mortar_drop-fixed", "e03890363a1834ef", (12, 6, 628, 630), 6, weeps=((601, 373),)
    ),
    Seen("kh-1204-mortar_drop", "bf5836cd292ac850", (107, 101, 620, 621), 5, weeps=((603, 367),)),
    Seen(
        "kh-1204-soil_against_brick-fixed",
        "53af3824717b0f52",
        (69, 34, 625, 617),
        8,
        weeps=((623, 440),),
    ),
    Seen(
        "kh-1204-soil_against_brick", "6a0bfa1383baf03f", (65, 60, 490, 490), 6, weeps=((655, 452),)
    ),
    Seen(
        "kh-1204-weep_hole_blocked-fixed",
        "9e9fe14dec1d347f",
        (16, 16, 591, 591),
        4,
        weeps=((661, 230),),
    ),
    Seen("kh-1204-weep_hole_blocked", "194d16da7e8a6659", (30, 14, 605, 599), 4),
    Seen("kh-1213-mortar_drop", "ad1f16272f356ce5", (131, 105, 661, 633), 5, weeps=((595, 389),)),
    Seen(
        "pl-077-dirty_brick-fixed", "342815391f0b0adf", (73, 69, 653, 653), 7, weeps=((685, 443),)
    ),
    Seen("pl-077-dirty_brick", "66553a73a0bd7bfb", (56, 54, 671, 669), 7, weeps=((671, 452),)),
    Seen("pl-081-articulation_unsealed-fixed", "a9e16d7751b3d185", (81, 96, 877, 890), 3),
    Seen("pl-081-articulation_unsealed", "1dfd11fa0593d5da", (96, 96, 869, 867), 3),
    Seen(
        "pl-081-soil_against_brick",
        "02c7bd6c2423061d",
        (105, 105, 480, 480),
        5,
        weeps=((651, 431),),
    ),
    Seen("pl-085-tap_splashes-fixed", "74196b2c3b84fef0", (36, 30, 625, 623), 6),
    Seen("pl-085-tap_splashes", "e20e62ce2a66a71a", (56, 54, 629, 627), 6),
]
