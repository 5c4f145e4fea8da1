# A beach of two zones with five spheres, swept and fitted: fit_small_beach DIR.

fit_small_beach() {
    mkdir "$1"
    printf '[machine]\nscale_low = 0\nscale_high = 80\nfrequency_khz = 7\ncoil_diameter_cm = 28\n' >"$1/beach.ini"
    printf '[beach]\nswing_height_cm = 5\nwater = sea\nwater_temperature_c = 12\n[zone wet]\n[zone damp]\n' >>"$1/beach.ini"
    cat >"$1/kit.csv" <<'END'
target,shape,material,diameter_mm,group
stud,sphere,gold 14ct,4,small gold
bead,sphere,gold 9ct,8,gold
ball,sphere,sterling silver,16,coin
scrap,sphere,aluminium,5,foil
bolt,other,iron,,iron
END
    cat >"$1/sweeps.csv" <<'END'
zone,target,depth_cm,reading
air,stud,5,14 14 15
air,bead,10,38 38 39
air,ball,10,67 68 67
air,scrap,5,30 30 31
air,bolt,5,4 4 3
wet,sand,,23 22 24 23 23 24 22 21 22 23 24 24 23 22 23 23 22 23 24 23
damp,sand,,22 23 23 22 24 23 22 23 22 23
wet,bead,0,38 37 38
wet,ball,5,66 67
wet,bolt,5,4 3 4
END
    "$BRINEBAND" fit "$1" >/dev/null
}
