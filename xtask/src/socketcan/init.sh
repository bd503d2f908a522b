#!/bin/busybox sh
# All that runs in the emulated computer: a bus of its own, the simulated machine on it, and two kinds of tools.
/bin/busybox --install -s /bin
export PATH=/bin
# The console begins with codes of its own, on a line of their own.
echo
mount -t proc proc /proc
mount -t sysfs sysfs /sys
mount -t devtmpfs devtmpfs /dev
for module in can can-dev can-raw vcan; do
    insmod /modules/$module.ko
done
ip link set lo up
ip link add dev vcan0 type vcan
ip link set vcan0 up

# What is held, and the words that must be in what was said.
holds() {
    if grep -q -e "$2" "$3"; then
        echo "PASS $1"
    else
        echo "FAIL $1"
        head -c 2000 "$3"
    fi
}

loader serve /permitted.scenario --onto can:vcan0 --seconds 120 > /served 2>&1 &
sleep 8
candump -L -n 400 -T 3000 vcan0 > /heard
holds "candump hears the left lever" " 0CFDD621#" /heard
holds "candump hears the engine" " 0CF00400#" /heard

candump -L -T 3000 vcan0 > /heard &
sleep 1
cansend vcan0 18EA27F8#00EE00
sleep 4
holds "cansend asks who has the address, and the controller answers" " 18EEFF27#" /heard

loader unit who --at can:vcan0 > /said 2>&1
holds "the desk program asks the unit who it is" "program        Q36-S-100" /said
loader unit save /unit.parameters --at can:vcan0 > /said 2>&1
holds "it saves all parameters, of many frames each way" "parameters are in" /said
loader unit restore /unit.parameters --at can:vcan0 > /said 2>&1
holds "and reads them again" "nothing differs" /said
loader unit faults --at can:vcan0 > /said 2>&1
holds "it reads the faults" "no fault is active" /said
loader unit record /log --seconds 2 --at can:vcan0 > /said 2>&1
holds "it records what is on the interface" "#" /log
loader unit who --at can:vcan1 > /said 2>&1
holds "an interface that is not there is told, and what to do" "with --at" /said

ip link set vcan0 down
sleep 1
holds "the machine tells that the interface is gone" "carries no more frames" /served
echo "END"
poweroff -f
